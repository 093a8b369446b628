"""The words of the data dictionary that the generator writes; the integer codes elsewhere are places in these lists."""

from typing import Final

CENTRES: Final = ("TW", "CM", "HS", "EH")
CENTRE_NAMES: Final = {"TW": "Tollenwick", "CM": "Corrimoss", "HS": "Hathersound", "EH": "Eldrinhay"}

SEX: Final = ("female", "male")
GROUP: Final = ("none", "laxity", "dysplasia", "storage", "fragility", "segmentation")
INDICATION: Final = (
    "instability",
    "cord_compression",
    "basilar_invagination",
    "deformity",
    "pain",
    "after_bone_removal",
    "earlier_fusion_failed",
    "other",
)
REDUCES: Final = ("awake", "under_traction", "not_under_traction", "not_tested")
ATLAS_RING: Final = ("intact", "posterior_open", "anterior_open", "both_open", "posterior_absent", "side_absent")
ARTERY: Final = ("usual", "high_riding", "over_c1_entry", "absent", "not_imaged")
LEVELS: Final = ("O", "C1", "C2", "C3", "C4", "C5", "C6", "C7", "T1", "T2", "T3", "T4")
CONSTRUCT: Final = ("rigid", "transarticular_cable", "hook_or_wire_rod", "no_rigid_metal")
GRAFT: Final = ("other_own", "structural_own", "donor", "none")
DECOMPRESSION: Final = ("foramen_magnum", "c1_arch", "c2_lamina", "below_c2", "ventral")
SUPPORT: Final = ("none", "collar", "rigid", "halo")
OTHER_END: Final = ("none", "death", "planned_removal", "left_area")


def centre_code(place: int) -> str:
    """Code of a centre: the four units by name, further ones by number.

    >>> centre_code(0), centre_code(4)
    ('TW', 'U05')
    """
    return CENTRES[place] if place < len(CENTRES) else f"U{place + 1:02d}"


def centre_name(place: int) -> str:
    """Name of a centre in a registry's own writing."""
    code = centre_code(place)
    return CENTRE_NAMES.get(code, f"Unit {code[1:]}")
