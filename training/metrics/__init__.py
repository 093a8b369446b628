"""How well predicted probabilities did, weighted for censoring: measures, intervals, curves, net benefit."""

from training.metrics.benefit import NetBenefit, net_benefit
from training.metrics.curves import CalibrationCurve, RiskDistribution, calibration_curve, risk_distribution
from training.metrics.discrimination import CInterval, delong_interval
from training.metrics.measure import MEASURE_NAMES, Measure, Measures
from training.metrics.scores import NoInformation, no_information
from training.metrics.summary import measures
from training.metrics.uncertainty import Estimate, Estimates, estimates

__all__ = [
    "MEASURE_NAMES",
    "CInterval",
    "CalibrationCurve",
    "Estimate",
    "Estimates",
    "Measure",
    "Measures",
    "NetBenefit",
    "NoInformation",
    "RiskDistribution",
    "calibration_curve",
    "delong_interval",
    "estimates",
    "measures",
    "net_benefit",
    "no_information",
    "risk_distribution",
]
