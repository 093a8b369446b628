"""The validation report: everything that a fit is worth, as one page that needs nothing else, and as JSON."""

from training.report.validation.document import document
from training.report.validation.page import page

__all__ = ["document", "page"]
