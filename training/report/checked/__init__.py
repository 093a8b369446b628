"""The report of a check: what to do about what was found, and what the cohort looks like."""

from training.report.checked.document import document
from training.report.checked.gather import check_file
from training.report.checked.page import page
from training.report.checked.summary import Checked

__all__ = ["Checked", "check_file", "document", "page"]
