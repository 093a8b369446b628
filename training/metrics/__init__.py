"""How well predicted probabilities did, weighted for censoring: measures, intervals, curves, net benefit."""

from training.metrics.benefit import NetBenefit, net_benefit
from training.metrics.curves import (
    BandedCurve,
    CalibrationCurve,
    RiskDistribution,
    banded,
    calibration_curve,
    risk_distribution,
)
from training.metrics.discrimination import CInterval, delong_interval
from training.metrics.measure import MEASURE_NAMES, Measure, Measures
from training.metrics.ranged import FEWEST_EVENTS, SCALES, TOO_FEW, Ranged, ranged, too_few_events
from training.metrics.scores import NoInformation, gain_over_rate, log_losses, no_information
from training.metrics.summary import measures
from training.metrics.uncertainty import Estimate, Estimates, estimates

__all__ = [
    "FEWEST_EVENTS",
    "MEASURE_NAMES",
    "SCALES",
    "TOO_FEW",
    "BandedCurve",
    "CInterval",
    "CalibrationCurve",
    "Estimate",
    "Estimates",
    "Measure",
    "Measures",
    "NetBenefit",
    "NoInformation",
    "Ranged",
    "RiskDistribution",
    "banded",
    "calibration_curve",
    "delong_interval",
    "estimates",
    "gain_over_rate",
    "log_losses",
    "measures",
    "net_benefit",
    "no_information",
    "ranged",
    "risk_distribution",
    "too_few_events",
]
