"""Score a child with a risk model that a department fitted on its own cohort.

    scorer = riskmodel.load("NAME.riskmodel.json")
    estimate = scorer.score({"age_years": 9.2, ...}, on=date(2026, 11, 25))

Research software: it does not choose an operation and does not replace the judgement of the treating team, local
protocols or licensed practice.

The names below are loaded when first asked for, so that importing a part of the package (the dictionary, say) costs
that part alone.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from riskmodel.errors import (
        BundleError,
        CasesRefused,
        DictionaryRefused,
        Finding,
        Refused,
        RiskmodelError,
        Severity,
    )
    from riskmodel.scoring import Scorer, load

__all__ = [
    "BundleError",
    "CasesRefused",
    "DictionaryRefused",
    "Finding",
    "Refused",
    "RiskmodelError",
    "Scorer",
    "Severity",
    "load",
]


def __getattr__(name: str) -> object:
    if name in ("Scorer", "load"):
        from riskmodel import scoring

        return getattr(scoring, name)
    if name in __all__:
        from riskmodel import errors

        return getattr(errors, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
