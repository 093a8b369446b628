"""Answers for other systems: HL7 FHIR RiskAssessment (R4 and R5) and CDS Hooks cards, built and checked here."""

from riskmodel.documents.exchange.checks import Release, fhir_problems, hook_problems
from riskmodel.documents.exchange.fhir import risk_assessment
from riskmodel.documents.exchange.hooks import hook_response

__all__ = ["Release", "fhir_problems", "hook_problems", "hook_response", "risk_assessment"]
