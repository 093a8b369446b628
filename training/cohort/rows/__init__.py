"""Further tables of a cohort: read, checked against the dictionary, and folded to one value per child."""

from training.cohort.rows.fold import Folded, fold, told_by_rows
from training.cohort.rows.further import Further, further
from training.cohort.rows.readers import Readers

__all__ = ["Folded", "Further", "Readers", "fold", "further", "told_by_rows"]
