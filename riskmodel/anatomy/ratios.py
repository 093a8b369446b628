"""Ratios of the junction that do not depend on the size of the child."""


def canal_ratio(c1_mm: float | None, c4_mm: float | None) -> float | None:
    """Sagittal canal at C1 divided by that at C4, on one lateral film; None unless both are known and C4 is above 0.

    1.29 (SD 0.14) in children without Down syndrome, 1.15 (0.13) and 0.63 (0.10) in those not operated and operated
    (Nakamura et al., 272 and 141 children).
    """
    return c1_mm / c4_mm if c1_mm is not None and c4_mm else None


def powers_ratio(
    basion_to_c1_lamina_mm: float | None, opisthion_to_anterior_arch_mm: float | None, *, ring_closed: bool | None
) -> float | None:
    """Basion to the spinolaminar line of C1, divided by opisthion to the back of the anterior arch.

    It tells a shift of the occiput to the front only, and cannot be measured where an arch of C1 is open (common
    practice, no source): None then, and where the ring is not known to be closed.
    """
    if not ring_closed or basion_to_c1_lamina_mm is None or not opisthion_to_anterior_arch_mm:
        return None
    return basion_to_c1_lamina_mm / opisthion_to_anterior_arch_mm
