"""Who is operated on: conditions with their share, group, age and anatomy, one row each.

Shares, ages and sizes are invented ("own"), set so that the measurements of the operated children lie where the
literature puts them; the tests name each source.
"""

from typing import Final

import numpy as np

from synthetic_cohort.codes import GROUP

# condition, group, share, mean age (years), atlantodental interval mean and SD (mm), canal mean (mm),
# chance of an open ring beyond the usual age, of a dens too small to measure
CASE_MIX: Final = (
    ("non_syndromic", "none", 0.150, 9.5, 6.5, 2.4, 13.0, 0.14, 0.01),
    ("down", "laxity", 0.200, 9.5, 9.6, 2.7, 11.2, 0.12, 0.01),
    ("ehlers_danlos", "laxity", 0.025, 12.0, 5.5, 2.0, 14.5, 0.05, 0.00),
    ("loeys_dietz", "laxity", 0.010, 8.0, 6.5, 2.2, 13.5, 0.20, 0.00),
    ("marfan", "laxity", 0.005, 11.0, 5.5, 2.0, 14.5, 0.08, 0.00),
    ("juvenile_arthritis", "laxity", 0.015, 12.5, 7.5, 2.4, 12.5, 0.04, 0.02),
    ("sedc", "dysplasia", 0.050, 7.5, 7.0, 2.2, 10.0, 0.20, 0.25),
    ("kniest", "dysplasia", 0.010, 7.0, 6.5, 2.2, 11.0, 0.20, 0.15),
    ("other_type2_collagen", "dysplasia", 0.010, 8.0, 6.5, 2.2, 10.5, 0.20, 0.20),
    ("achondroplasia", "dysplasia", 0.025, 7.0, 4.5, 1.8, 10.5, 0.10, 0.02),
    ("pseudoachondroplasia", "dysplasia", 0.010, 9.0, 7.0, 2.2, 11.0, 0.08, 0.10),
    ("diastrophic", "dysplasia", 0.010, 6.5, 5.5, 2.0, 11.5, 0.30, 0.05),
    ("metatropic", "dysplasia", 0.010, 6.0, 7.0, 2.2, 10.0, 0.15, 0.20),
    ("chondrodysplasia_punctata", "dysplasia", 0.010, 5.5, 6.5, 2.2, 10.5, 0.25, 0.15),
    ("larsen", "dysplasia", 0.012, 5.0, 5.5, 2.2, 11.5, 0.30, 0.05),
    ("other_skeletal_dysplasia", "dysplasia", 0.030, 7.5, 6.5, 2.2, 11.0, 0.15, 0.08),
    ("mps_i", "storage", 0.015, 8.0, 6.0, 2.0, 9.5, 0.08, 0.12),
    ("mps_iva", "storage", 0.100, 7.5, 6.5, 2.0, 9.0, 0.10, 0.25),
    ("mps_vi", "storage", 0.015, 9.0, 6.0, 2.0, 9.0, 0.08, 0.15),
    ("other_mps", "storage", 0.010, 9.0, 6.0, 2.0, 9.5, 0.08, 0.10),
    ("osteogenesis_imperfecta", "fragility", 0.040, 10.0, 4.0, 1.8, 12.5, 0.06, 0.02),
    ("neurofibromatosis_1", "fragility", 0.015, 9.5, 5.5, 2.2, 13.0, 0.05, 0.01),
    ("klippel_feil", "segmentation", 0.070, 10.0, 5.5, 2.2, 12.5, 0.25, 0.03),
    ("del_22q11", "segmentation", 0.030, 8.5, 5.5, 2.2, 13.0, 0.55, 0.02),
    ("goldenhar_oavs", "segmentation", 0.025, 7.5, 5.5, 2.2, 12.5, 0.30, 0.04),
    ("vacterl", "segmentation", 0.010, 7.5, 5.5, 2.2, 13.0, 0.25, 0.03),
    ("craniosynostosis_syndrome", "segmentation", 0.010, 8.0, 5.0, 2.0, 13.0, 0.20, 0.02),
    ("proatlas_segmentation", "segmentation", 0.015, 9.5, 5.0, 2.0, 11.5, 0.30, 0.05),
    ("cerebral_palsy_dystonia", "none", 0.020, 10.5, 6.0, 2.2, 12.5, 0.05, 0.01),
    ("trauma", "none", 0.040, 9.0, 6.0, 2.2, 14.0, 0.03, 0.01),
    ("tumour", "none", 0.015, 9.0, 4.5, 1.8, 14.0, 0.03, 0.02),
    ("other_syndrome", "none", 0.055, 8.5, 6.0, 2.2, 12.5, 0.15, 0.04),
    ("under_test", "none", 0.010, 7.5, 6.0, 2.2, 12.5, 0.15, 0.04),
)

CONDITION: Final = tuple(row[0] for row in CASE_MIX)
GROUP_OF: Final = np.array([GROUP.index(row[1]) for row in CASE_MIX])
SHARE: Final = np.array([row[2] for row in CASE_MIX]) / sum(row[2] for row in CASE_MIX)
MEAN_AGE_YEARS: Final = np.array([row[3] for row in CASE_MIX])
ADI_MEAN_MM: Final = np.array([row[4] for row in CASE_MIX])
ADI_SD_MM: Final = np.array([row[5] for row in CASE_MIX])
CANAL_MEAN_MM: Final = np.array([row[6] for row in CASE_MIX])
RING_OPEN: Final = np.array([row[7] for row in CASE_MIX])
DENS_TINY: Final = np.array([row[8] for row in CASE_MIX])

DOWN: Final = CONDITION.index("down")
DYSPLASIA: Final = GROUP.index("dysplasia")
