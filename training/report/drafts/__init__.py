"""Drafts for reporting a model: what the run can say of each item, and what people have to write."""

from training.report.drafts.files import drafts
from training.report.drafts.probast import Answer, Question, answers
from training.report.drafts.tripod import Entry, entries

__all__ = ["Answer", "Entry", "Question", "answers", "drafts", "entries"]
