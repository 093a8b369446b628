"""The top line of the page: age, weight and blood volume, as far as they were typed."""

from collections.abc import Iterator, Mapping

from riskmodel.anatomy.blood import blood_volume
from riskmodel.documents.surgeon.model import Pairs
from riskmodel.documents.words import short


def top_line(values: Mapping[str, object]) -> Pairs:
    """Pairs of a name and words from a case's values, as a case file holds them."""
    return tuple(_top(_number(values.get("age_years")), _number(values.get("weight_kg"))))


def _top(age_years: float | None, weight_kg: float | None) -> Iterator[tuple[str, str]]:
    if age_years is not None:
        yield "age", f"{short(age_years)} years"
    yield "weight", "not known" if weight_kg is None else f"{short(weight_kg)} kg"
    blood = blood_volume(weight_kg, age_years)
    if blood is not None:
        losses = ", ".join(f"{share:.0%} {loss:.0f}" for share, loss in blood.loss_ml)
        yield "blood volume", f"{blood.volume_ml:.0f} ml ({losses} ml)"


def _number(value: object) -> float | None:
    """A typed number; words such as not_measurable, and what cannot be read, stand for none here."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        return float(value)
    except ValueError:
        return None
