"""Drafting a map: guesses, every one of them marked, for a person to check."""

from training.registry.draft.run import draft_map

__all__ = ["draft_map"]
