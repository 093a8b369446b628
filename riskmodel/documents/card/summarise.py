"""From a bundle to the summary of its card."""

from math import exp

from riskmodel.bundle import Bundle
from riskmodel.documents.card import facts
from riskmodel.documents.card.advice import advice
from riskmodel.documents.card.cohort import cohort
from riskmodel.documents.card.columns import coefficients
from riskmodel.documents.card.curves import effects
from riskmodel.documents.card.limits import limits
from riskmodel.documents.card.model import CardSummary, Identity
from riskmodel.documents.card.performance import performance
from riskmodel.documents.card.reporting import reporting

FORMAT = 1


def summarise(bundle: Bundle) -> CardSummary:
    """The card of a bundle, from nothing but the bundle."""
    base = bundle.model.base_log_odds
    return CardSummary(
        format=FORMAT,
        identity=_identity(bundle),
        limits=limits(bundle),
        predicted=facts.predicted(bundle),
        population=facts.population(bundle),
        cohort=cohort(bundle),
        intercept=bundle.intercept,
        base_log_odds=base,
        base_probability=1.0 / (1.0 + exp(-base)),
        coefficients=coefficients(bundle),
        effects=effects(bundle),
        performance=performance(bundle),
        advice=advice(bundle),
        gates=facts.gates(bundle),
        checks=facts.checks(bundle),
        updates=facts.updates(bundle),
        cautions=bundle.cautions,
        reporting=reporting(bundle),
        protocol=bundle.protocol,
    )


def _identity(bundle: Bundle) -> Identity:
    held = bundle.dictionary
    return Identity(
        id=bundle.id,
        title=bundle.title,
        demonstration=bundle.demonstration,
        use=bundle.use.value,
        released=bundle.released,
        review_by=bundle.review_by,
        digest=bundle.digest,
        parents=bundle.parents,
        made_with=bundle.made_with,
        dictionary=f"{held.name}, version {held.version}, digest {held.digest}",
    )
