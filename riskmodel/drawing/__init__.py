"""Our own drawings, as SVG made from numbers: attributes only, no style, no script, no id, legible in grey.

Every drawing comes with the same content in words.
"""

from riskmodel.drawing.curves import Calibration, Effect, calibration_curve, effect_curve
from riskmodel.drawing.ladder import Ladder, Mark, Midline, Rung, Site, ladder_drawing
from riskmodel.drawing.squares import Shares, squares
from riskmodel.drawing.svg import Drawing

__all__ = [
    "Calibration",
    "Drawing",
    "Effect",
    "Ladder",
    "Mark",
    "Midline",
    "Rung",
    "Shares",
    "Site",
    "calibration_curve",
    "effect_curve",
    "ladder_drawing",
    "squares",
]
