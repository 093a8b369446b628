"""A model on patients of elsewhere: check it there, recalibrate or update it, and say how sure that leaves it."""

from training.updating.check import Elsewhere, check_elsewhere, noted
from training.updating.children import Children, children
from training.updating.parent import protocol_of
from training.updating.prior import DISCOUNT
from training.updating.update import Method, Updated, update

__all__ = [
    "DISCOUNT",
    "Children",
    "Elsewhere",
    "Method",
    "Updated",
    "check_elsewhere",
    "children",
    "noted",
    "protocol_of",
    "update",
]
