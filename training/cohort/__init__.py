"""The cohort: eligible children, their baseline columns and what became of them."""

from training.cohort.model import Cohort, Course, Status, course
from training.cohort.read import read

__all__ = ["Cohort", "Course", "Status", "course", "read"]
