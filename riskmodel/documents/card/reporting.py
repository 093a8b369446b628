"""A draft for reporting a prediction model: each item of TRIPOD+AI with what the bundle can say, or left to be written.

Items in our own words, after Collins et al., BMJ 2024;385:e078378 (numbers and topics from memory). What only people
can say, aims, ethics, funding, fairness, is never filled in by a program.
"""

from collections.abc import Iterator

from riskmodel.bundle import Bundle
from riskmodel.documents.card.model import ReportItem
from riskmodel.documents.card.performance import MEASURES
from riskmodel.documents.words import fixed, human, of_100, short
from riskmodel.like_cases import share_words


def reporting(bundle: Bundle) -> tuple[ReportItem, ...]:
    """All items, in their order."""
    filled = dict(_filled(bundle))
    return tuple(ReportItem(number, topic, filled.get(number, "")) for number, topic in ITEMS.items())


ITEMS = {
    "1": "title: development or evaluation, population, outcome",
    "2": "structured abstract",
    "3a": "clinical setting, and why the model is wanted",
    "3b": "for whom, where in care, used by whom",
    "3c": "known inequalities",
    "4": "aims",
    "5a": "source of the data, how far it represents those for whom the model is meant",
    "5b": "dates",
    "6a": "setting and centres",
    "6b": "who was in, who was out",
    "6c": "treatments given, and how they were handled",
    "7": "how the data were cleaned and checked, alike in all groups",
    "8a": "outcome, horizon, how it was found",
    "8b": "who assessed the outcome",
    "8c": "blinding of the assessment",
    "9a": "starting predictors, and why",
    "9b": "definition and moment of each predictor",
    "9c": "who assessed the predictors",
    "10": "size of the cohort, and what it can carry",
    "11": "missing data",
    "12a": "use of the data: splits, resampling",
    "12b": "form of the predictors",
    "12c": "kind of model, tuning, internal validation",
    "12d": "differences between centres",
    "12e": "measures of performance",
    "12f": "updating",
    "12g": "how a prediction is computed",
    "13": "handling of class imbalance",
    "14": "fairness",
    "15": "what the model gives, and thresholds",
    "16": "differences between development and evaluation",
    "17": "ethics",
    "18a": "funding",
    "18b": "conflicts of interest",
    "18c": "protocol",
    "18d": "registration",
    "18e": "data",
    "18f": "code",
    "19": "involvement of patients and public",
    "20a": "flow of children",
    "20b": "characteristics, missing values included",
    "20c": "comparison of development and evaluation",
    "21": "children and events in each analysis",
    "22": "the whole model",
    "23a": "performance with intervals, in subgroups too",
    "23b": "variation between centres",
    "24": "results of updating",
    "25": "interpretation",
    "26": "limits",
    "27a": "what to do with bad or missing input at use",
    "27b": "skill that users need",
    "27c": "next steps",
}


def _filled(bundle: Bundle) -> Iterator[tuple[str, str]]:
    yield from _of_design(bundle)
    yield from _of_cohort(bundle)
    yield from _of_methods(bundle)
    yield from _of_results(bundle)


def _of_design(bundle: Bundle) -> Iterator[tuple[str, str]]:
    held = bundle.outcome
    within = "" if held.horizon_months is None else f", within {short(held.horizon_months)} months"
    yield "1", f"development, with internal validation: {bundle.title}"
    yield "3b", f"known by the moment '{human(bundle.gates.moment.value)}'; who uses it is to be written"
    yield "8a", "; ".join(part for part in (f"{held.label}{within}", held.text) if part)
    yield "15", "a probability with an interval, or none with the reason; no threshold"
    yield (
        "18c",
        f"carried whole in the bundle {bundle.id}; whether it was written before the data were seen is to be said",
    )
    yield "18f", ", ".join(f"{name} {version}" for name, version in sorted(bundle.made_with.items()))


def _of_cohort(bundle: Bundle) -> Iterator[tuple[str, str]]:
    held = bundle.cohort
    if held.get("years"):
        yield "5b", f"operations of {held['years'][0]} to {held['years'][-1]}"
    if held.get("centres") is not None:
        yield "6a", f"{held['centres']} centres"
    left_out = "; ".join(f"{reason}: {count}" for reason, count in held.get("left_out", {}).items())
    if left_out:
        yield "6b", f"left out: {left_out}"
        yield "20a", f"left out: {left_out}"
    counts = [f"{human(name)}: {held[name]}" for name in ("children", "known_at_horizon", "events") if name in held]
    if counts:
        yield "21", "; ".join(counts)
    labels = {name: variable.label for name, variable in bundle.dictionary.variables.items()}
    shares = held.get("missing_share", {})
    missing = [f"{labels.get(name, name)}: {share_words(share)}" for name, share in shares.items() if share]
    few = [share for share in shares.values() if not share]
    rest = [f"every {'other ' * bool(missing)}predictor: {share_words(0.0)}"] if few else []
    yield "20b", f"missing: {'; '.join((*missing, *rest)) or 'not recorded'}"


def _of_methods(bundle: Bundle) -> Iterator[tuple[str, str]]:
    variables = bundle.dictionary.variables
    used = dict.fromkeys(name for term in bundle.terms for name in term.variables if name in variables)
    replays = bundle.performance.get("replays", {})
    yield "9b", "; ".join(f"{variables[name].label} ({variables[name].moment.value})" for name in used)
    yield "11", "completed from their distribution given what was measured, learned without the outcome"
    yield "12a", f"all children for fitting; {replays.get('times', 'no')} bootstrap replays of everything"
    yield "12b", f"{len(bundle.terms)} terms, {len(bundle.coefficients)} columns; nothing made into two groups by a cut"
    chosen = bundle.protocol.get("fit", {}).get("choose", "the shipped sum of terms")
    yield "12c", f"logistic, by the protocol's choice: {human(str(chosen))}; priors on this card; optimism by replays"
    held = bundle.performance.get("measures", {})
    yield "12e", "; ".join(words for name, words in MEASURES.items() if name in held) or "none"
    yield "12g", "intercept plus the sum of column times coefficient, through the logistic curve"
    yield "13", "none, and none needed: no class was weighted or resampled"
    yield "27a", "values that cannot be true are refused; missing ones widen the interval; outside the ranges no number"
    told = [str(bundle.advice[name]) for name in ("verdict", "path", "reason") if name in bundle.advice]
    if told:
        yield "10", "; ".join(told)


def _of_results(bundle: Bundle) -> Iterator[tuple[str, str]]:
    best = bundle.corrected("c")
    yield "22", f"intercept {fixed(bundle.intercept, 4)} and {len(bundle.coefficients)} coefficients, on this card"
    if best is not None:
        yield "23a", f"c {fixed(best)}, corrected; rate {of_100(bundle.cohort_rate)}; all measures on this card"
    if bundle.updates:
        yield "24", f"{len(bundle.updates)} updates, on this card"
    yield "26", "the limits at the head of this card; more is to be written"
