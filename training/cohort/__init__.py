"""The cohort: eligible children, their baseline columns and what became of them."""

from training.cohort.model import Cohort, Course, Status, course

__all__ = ["Cohort", "Course", "Status", "course"]
