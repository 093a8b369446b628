"""What a measure of performance is: a finite number, or the sentence that says why there is none."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: `value` finite and `reason` None, or `value` None and `reason` a sentence. Never NaN.

    Raises
    ------
    ValueError
        When both or neither are given, or the value is not finite.
    """

    value: float | None
    reason: str | None = None

    def __post_init__(self) -> None:
        if (self.value is None) == (self.reason is None):
            raise ValueError(
                f"a measure must have a value or a reason: found {self.value} and {self.reason!r}; give exactly one"
            )
        if self.value is not None and not math.isfinite(self.value):
            raise ValueError(f"a measure's value must be finite: found {self.value}; give None and a reason")

    @classmethod
    def none(cls, reason: str) -> "Measure":
        """Return a measure that could not be had, with the reason why."""
        return cls(None, reason)

    @classmethod
    def finite(cls, value: float, otherwise: str) -> "Measure":
        """Return the value when it is finite, else no value and the reason `otherwise`."""
        value = float(value)
        return cls(value) if math.isfinite(value) else cls(None, otherwise)


@dataclass(frozen=True, slots=True)
class Measures:
    """Every measure of one set of predictions. No unit; in brackets: range, then the value of a perfect model.

    Attributes
    ----------
    c
        Probability that of a random case and a random non-case the case has the higher prediction [0 to 1; 1].
    observed_expected
        Observed rate over mean prediction [0 up; 1 = right on average].
    citl
        Calibration-in-the-large: what must be added to every log-odds to be right on average [0].
    intercept, slope
        The line logit(risk) = intercept + slope * logit(prediction), fitted jointly [0 and 1; slope < 1 = too extreme].
    ici, e50, e90, emax
        Mean, median, 90th percentile and maximum of |smoothed risk - prediction| over all children [0 to 1; 0].
    brier
        Mean squared error [0 to 1; 0].
    scaled_brier
        1 - Brier / Brier of the rate, or index of prediction accuracy [up to 1; 1, where 0 = no better than the rate].
    log_loss
        Mean of -log(probability given to what happened) [0 up; 0].
    r2, r2_cox_snell, r2_mcfadden, r2_tjur
        Nagelkerke's, Cox and Snell's, McFadden's and Tjur's R-squared of the predictions as they are [up to 1].
    r2_recalibrated
        Nagelkerke's R-squared after the predictions were put on their own calibration line [0 to 1].
    """

    c: Measure
    observed_expected: Measure
    citl: Measure
    intercept: Measure
    slope: Measure
    ici: Measure
    e50: Measure
    e90: Measure
    emax: Measure
    brier: Measure
    scaled_brier: Measure
    log_loss: Measure
    r2: Measure
    r2_cox_snell: Measure
    r2_mcfadden: Measure
    r2_tjur: Measure
    r2_recalibrated: Measure

    def items(self) -> Iterator[tuple[str, Measure]]:
        """Yield (name, measure) in the order of the fields."""
        for name in MEASURE_NAMES:
            yield name, getattr(self, name)


MEASURE_NAMES: tuple[str, ...] = tuple(field.name for field in fields(Measures))
