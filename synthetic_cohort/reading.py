"""What a reader records of the anatomy before the plan: tested or not, imaged or not, with the reader's error."""

import numpy as np

from synthetic_cohort import norms
from synthetic_cohort.anatomy import Anatomy
from synthetic_cohort.children import Body
from synthetic_cohort.records import NOT_IMAGED, NOT_TESTED, Child, Flags, Floats


def read(rng: np.random.Generator, body: Body, anatomy: Anatomy) -> Child:
    """The recorded child. Tests and imaging depend on year, centre and age alone, never on what they would show."""
    imaged, tested = _imaged(rng, body), rng.random(len(body.year)) >= 0.10 - 0.04 * (body.age_years > 6)
    artery = np.where(imaged[:, None], anatomy.artery, NOT_IMAGED)
    no_dens = anatomy.dens_tiny | ((anatomy.ring == 2) & (rng.random(len(body.year)) < 0.15))
    no_arch = (anatomy.ring == 4) & (rng.random(len(body.year)) < 0.3)
    return Child(
        centre=body.centre,
        year=body.year,
        condition=body.condition,
        group=body.group,
        age_years=body.age_years,
        sex=body.sex,
        indication=body.indication,
        prior_surgery=body.prior_surgery,
        nurick=anatomy.nurick,
        reduces=np.where(tested, anatomy.reduces, NOT_TESTED),
        adi_mm=np.where(no_dens, np.nan, distance(rng, anatomy.adi_mm, norms.ADI_READER_SD_MM, low=-3.0)),
        padi_mm=np.where(no_arch, np.nan, distance(rng, anatomy.canal_mm, norms.CANAL_READER_SD_MM, low=3.0)),
        ring=anatomy.ring,
        artery_right=artery[:, 0],
        artery_left=artery[:, 1],
    )


def distance(rng: np.random.Generator, true_mm: Floats, reader_sd_mm: float, *, low: float) -> Floats:
    """One reader's value, to 0.1 mm."""
    read_mm = true_mm + reader_sd_mm * rng.standard_normal(true_mm.shape)
    return np.asarray(np.round(np.maximum(read_mm, low), 1))


def _imaged(rng: np.random.Generator, body: Body) -> Flags:
    """CT or MR angiography became usual over the years."""
    chance = 0.72 + 0.018 * (body.year - 2016) - 0.08 * (body.centre % 3 == 1)
    return np.asarray(rng.random(len(chance)) < np.clip(chance, 0.3, 0.97))
