"""Kept answers: what was typed and answered, kept when somebody asks for it, and what became of the child."""

from riskmodel.web.kept.records import Event, Kept, KeptChild, NotKept, Outcome
from riskmodel.web.kept.store import Store

__all__ = ["Event", "Kept", "KeptChild", "NotKept", "Outcome", "Store"]
