"""How much blood a child has, for what bleeding means."""

from dataclasses import dataclass

ML_PER_KG = 75.0
# Infants have more per kg.
FROM_YEARS = 1.0
SHARES = (0.10, 0.20, 0.40)


@dataclass(frozen=True, slots=True)
class BloodVolume:
    """Volume in ml, and what 10, 20 and 40% of it are in ml."""

    volume_ml: float
    loss_ml: tuple[tuple[float, float], ...]


def blood_volume(weight_kg: float | None, age_years: float | None) -> BloodVolume | None:
    """75 ml/kg, the middle of 70 to 80 after infancy (common practice, no source).

    None when weight or age is not known, and under 1 year, where the figure does not hold.
    """
    if weight_kg is None or age_years is None or age_years < FROM_YEARS:
        return None
    volume = ML_PER_KG * weight_kg
    return BloodVolume(volume, tuple((share, share * volume) for share in SHARES))
