"""The planning conference as plain text and as JSON."""

from riskmodel.documents.planning.text import lines, to_document

__all__ = ["lines", "to_document"]
