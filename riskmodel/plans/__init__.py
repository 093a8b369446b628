"""The planning conference: what fits where, what contradicts itself, what must be ready. It decides nothing.

    child, findings = child_of(values, dictionary, case_id="...")
    held = Conference(child, values, read_plans(path), read_limits(), read_stock(), findings)
    summary = summarise(held, Asking(on), scorers)

Anatomy works without a model; a model that gives no number takes nothing else away.
"""

from riskmodel.plans.child import Child, child_of, corridors_beside
from riskmodel.plans.corridors import Corridor, corridors_of, read_corridors
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.limits import Limits, read_limits
from riskmodel.plans.plan import Anchor, Plan, PlansFile
from riskmodel.plans.reading import plans_of, read_plans
from riskmodel.plans.risks import Asking, Difference
from riskmodel.plans.stock import Stock, read_stock
from riskmodel.plans.summary import Conference, Summary, contradicted, summarise

__all__ = [
    "Anchor",
    "AnchorFit",
    "Asking",
    "Child",
    "Conference",
    "Corridor",
    "Difference",
    "Limits",
    "Plan",
    "PlansFile",
    "Stock",
    "Summary",
    "child_of",
    "contradicted",
    "corridors_beside",
    "corridors_of",
    "plans_of",
    "read_corridors",
    "read_limits",
    "read_plans",
    "read_stock",
    "summarise",
]
