"""What the run knows that bears on the questions of a quality assessment: key -> (does it hold, and on what it rests).

None in place of an answer: the run cannot know, and a person has to say.
"""

from collections.abc import Mapping

from riskmodel.bundle import Bundle
from riskmodel.documents.card.model import CardSummary

Ground = tuple[bool | None, str]
EVENTS_WANTED = 100
READERS = (None, "by whom, and when?")
JUDGES = (None, "who judged it, on what?")


def development(bundle: Bundle, summary: CardSummary) -> Mapping[str, Ground]:
    """About how the model was made."""
    return {**_people(bundle, summary), **_outcome(bundle), **_analysis(bundle)}


def _people(bundle: Bundle, summary: CardSummary) -> dict[str, Ground]:
    left_out = "; ".join(f"{reason}: {count}" for reason, count in summary.cohort.left_out) or "nobody"
    from_notes = bool(bundle.protocol.get("planned_from_operation_note", False))
    moment = bundle.gates.moment.value
    return {
        "source": (None, "a register: who keeps it, and how?"),
        "rules": (True, f"by the protocol: {summary.population.eligible or 'every child'}; left out: {left_out}"),
        "stand_for": (None, "who never reaches this register?"),
        "alike": (None, "one dictionary for all; how alike readers measure is not in the data"),
        "blind": READERS,
        "in_time": (
            not from_notes,
            "plans were read from operation notes"
            if from_notes
            else f"nothing later than the moment '{moment}' gets in",
        ),
    }


def _outcome(bundle: Bundle) -> dict[str, Ground]:
    looked_for = (
        "follow-up is counted and censoring weighed; whether scans were habit or suspicion is not in the data"
        if _timed(bundle)
        else "a plain yes or no, without times: was every child seen late enough?"
    )
    return {
        "determined": JUDGES,
        "beforehand": (None, "they stand in the protocol, carried whole: was it written before the data were seen?"),
        "apart": (True, "what is first known after the moment of the estimate cannot be a predictor"),
        "looked_for": (None, looked_for),
    }


def _analysis(bundle: Bundle) -> dict[str, Ground]:
    verdict = bundle.advice.get("verdict")
    replays = bundle.performance.get("replays", {}).get("times", 0)
    nothing_said = "no advice was made: compare the events with the effects that were estimated"
    return {
        "size": (None if verdict is None else verdict == "refit", str(bundle.advice.get("reason", nothing_said))),
        "numbers": (True, "nothing is made into two groups by a cut"),
        "gaps": (True, "filled from what was measured, without the outcome, as at use; nobody is dropped for a gap"),
        "chosen": (True, "they are those of the protocol; none is dropped or added by the data"),
        "censoring": _censoring(bundle),
        "overfitting": (
            replays > 0 or "new_centre" in bundle.performance,
            f"shrinkage by priors; everything repeated in {replays} bootstrap replays; no class weighted or resampled",
        ),
    }


def _censoring(bundle: Bundle) -> Ground:
    if not _timed(bundle):
        return None, "no times: nothing is known of those lost"
    alone = (bundle.cohort.get("centres") or 1) == 1
    weighed = "weights for censoring, competing ends left to act"
    return (True, weighed) if alone else (None, f"{weighed}; centres are compared, and may differ more than that tells")


def evaluation(bundle: Bundle, summary: CardSummary) -> Mapping[str, Ground]:
    """About how the model was tried on other children."""
    return {**_others(summary), **_tried(bundle), **_judged(bundle)}


def _others(summary: CardSummary) -> dict[str, Ground]:
    checked = bool(summary.checks)
    where = "; ".join(f"{held.on}, {held.centre}: {held.children}" for held in summary.checks) or "none yet"
    return {
        "others": (checked, f"checks so far: {where}"),
        "same_rules": (checked or None, "a check applies the model's own rules"),
        "stand_for": (None, "are they the next children of the place that uses it?"),
        "alike": (None, "another dictionary is refused; readers and scanners may differ"),
        "blind": READERS,
        "in_time": (True, "a later value closes the gate"),
    }


def _tried(bundle: Bundle) -> dict[str, Ground]:
    followed = "with fewer than 10 followed to it a check is refused; those lost are weighed for"
    return {
        "determined": JUDGES,
        "same_outcome": (True, "another definition is refused by name"),
        "unseen": (None, "did anybody who judged it see estimates before?"),
        "looked_for": (None, "was follow-up the same for all groups?"),
        "followed": (True, followed) if _timed(bundle) else (None, "a plain yes or no, without times"),
    }


def _judged(bundle: Bundle) -> dict[str, Ground]:
    checked = True if bundle.local_checks else None
    events = max((held.events for held in bundle.local_checks), default=0)
    groups = ", ".join(bundle.protocol.get("report", {}).get("subgroups", ()))
    wanted = f"at least {events} in the largest check; about {EVENTS_WANTED} and as many non-events are wanted"
    return {
        "events": (events >= EVENTS_WANTED if checked else None, wanted),
        "kept": (checked, "all eligible children count, gaps or not"),
        "gaps": (True, "the model fills them itself, the same way everywhere"),
        "censoring": (True, "weights are made anew from the check's own follow-up"),
        "measures": (checked, "c, observed over expected, slope and curve, each with an interval"),
        "as_given": (True, "its digest is noted with every check; nothing is refitted for it"),
        "groups": (checked if groups else None, f"groups of the protocol: {groups or 'none'}"),
    }


def _timed(bundle: Bundle) -> bool:
    return bundle.outcome.horizon_months is not None
