"""The words of the data dictionary that the generator writes: levels by code, in the order of the integer codes."""

from typing import Final

CENTRES: Final = ("TW", "CM", "HS", "EH")
CENTRE_NAMES: Final = {"TW": "Tollenwick", "CM": "Corrimoss", "HS": "Hathersound", "EH": "Eldrinhay"}

SEX: Final = ("female", "male")
# (code, biology group, share among operated children); shares: own, no source
CONDITIONS: Final = (
    ("down", "laxity", 0.22),
    ("ehlers_danlos", "laxity", 0.03),
    ("mps_iva", "storage", 0.12),
    ("other_mps", "storage", 0.03),
    ("sedc", "dysplasia", 0.07),
    ("achondroplasia", "dysplasia", 0.03),
    ("other_skeletal_dysplasia", "dysplasia", 0.05),
    ("larsen", "dysplasia", 0.02),
    ("osteogenesis_imperfecta", "fragility", 0.05),
    ("klippel_feil", "segmentation", 0.12),
    ("del_22q11", "segmentation", 0.04),
    ("goldenhar_oavs", "segmentation", 0.03),
    ("non_syndromic", "none", 0.19),
)
CONDITION: Final = tuple(code for code, _, _ in CONDITIONS)
GROUP: Final = ("none", "laxity", "dysplasia", "storage", "fragility", "segmentation")
INDICATION: Final = ("instability", "cord_compression", "basilar_invagination", "deformity")
REDUCES: Final = ("awake", "under_traction", "not_under_traction")
ATLAS_RING: Final = ("intact", "posterior_open", "anterior_open", "both_open", "posterior_absent")
ARTERY: Final = ("usual", "high_riding", "over_c1_entry", "absent", "not_imaged")
LEVELS: Final = ("O", "C1", "C2", "C3", "C4", "C5", "C6", "C7", "T1", "T2", "T3", "T4")
CONSTRUCT: Final = ("rigid", "transarticular_cable", "hook_or_wire_rod", "no_rigid_metal")
GRAFT: Final = ("structural_own", "other_own", "donor", "none")
DECOMPRESSION: Final = ("none", "foramen_magnum", "c1_arch", "foramen_magnum+c1_arch")
SUPPORT: Final = ("none", "collar", "rigid", "halo")
OTHER_END: Final = ("none", "death", "planned_removal", "left_area")
