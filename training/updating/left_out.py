"""What an updated model says of each child when that child took no part in the update."""

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.posterior import without_itself
from training.updating.likelihood import Fit, Sample


def left_out(design: Floats, sample: Sample, offset: Floats, found: Fit) -> Floats:
    """(n,) probability of each child with that child left out of the fit, approximately (`without_itself`).

    Parameters
    ----------
    design, offset
        (n, k) and (n,) that the fit `found` of the sample was made from.
    """
    log_odds: Floats = offset + design @ found.coefficients
    influence = np.einsum("ni,ij,nj->n", design, found.covariance, design)
    y = np.where(sample.weights > 0.0, sample.y, 0.0)
    return expit(without_itself(log_odds, expit(log_odds), influence, y, sample.weights))
