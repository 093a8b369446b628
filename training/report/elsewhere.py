"""The report of a check on other patients: every number as JSON, and the same numbers as a page."""

from collections.abc import Iterator, Mapping
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.documents.blocks import Block, Bullets, Facts, Figure, Figures, Page, Paragraph, Section, Table
from riskmodel.documents.card.curves import calibration_words
from riskmodel.documents.card.performance import MEASURES
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.plain import plain
from riskmodel.documents.words import ABSENT, fixed, of_100, short, signed
from riskmodel.drawing import Calibration, calibration_curve
from training.fitting.performance import MEANINGS
from training.meta import Pooled
from training.metrics import TOO_FEW, Ranged
from training.metrics.ranged import LEVEL
from training.updating.case_mix import MixLine
from training.updating.check import Elsewhere
from training.updating.parts import Part

FORMAT = 1
IN_PARTS = ("observed_expected", "c", "slope")
CURVE_GRID = 2  # points that a curve needs to be drawn
BETWEEN = {
    "logit_c": "c, on the logit scale",
    "log_observed_expected": "observed / expected, on the log scale",
    "slope": "slope",
}


def document(found: Elsewhere, noted: Bundle) -> dict[str, Any]:
    """Every number of the check; what could not be had is null, with its reason beside it. `noted` is the new bundle.

    It counts children of the department exactly, and stays there.
    """
    outcome, before = found.children.outcome, found.children.bundle
    return {
        "format": FORMAT,
        "demonstration": noted.demonstration,
        "cautions": list(noted.cautions),
        "bundle": {"id": noted.id, "digest": noted.digest},
        "checked": {"id": before.id, "digest": before.digest},
        "on": found.check.on.isoformat(),
        "place": found.check.centre,
        "n": len(found.children),
        "events": outcome.events,
        "non_events": outcome.non_events,
        "level": LEVEL,
        "measures": plain(found.performance.measures),
        "calibration": plain(found.performance.curve),
        "case_mix": plain(found.case_mix),
        "parts": plain(found.parts),
        "between_centres": plain(found.between),
        "years": plain(found.years),
        "tells": list(found.tells),
        "definitions": {name: words for name, words in MEANINGS.items() if name in found.performance.measures},
    }


def page(found: Elsewhere, noted: Bundle) -> Page:
    """The blocks of the report."""
    check = found.check
    return Page(
        title=noted.title,
        subtitle=f"{noted.id} checked on other patients on {check.on} ({check.centre})",
        band=DEMONSTRATION if noted.demonstration else None,
        foot=f"{noted.id} · checked: digest {found.children.bundle.digest[:12]} · stays in the department",
        sections=tuple(Section(title, tuple(blocks)) for title, blocks in _sections(found, noted)),
    )


def _sections(found: Elsewhere, noted: Bundle) -> Iterator[tuple[str, Iterator[Block]]]:
    yield "What these children can tell", iter((Bullets(found.tells),))
    yield "Who they are, against those that the model was made from", _case_mix(found)
    yield "How well it did", _measures(found)
    yield "By centre and subgroup", _parts(found)
    if found.years:
        yield "By year of operation", _years(found)
    yield "Cautions", iter((Bullets(noted.cautions),))


def _case_mix(found: Elsewhere) -> Iterator[Block]:
    mix, outcome = found.case_mix, found.children.outcome
    yield Facts(
        (
            ("children", f"{len(found.children)}, {outcome.events} events, {outcome.non_events} known non-events"),
            ("mean risk given", of_100(float(found.children.probability.mean()))),
            ("rate of the model's own cohort", of_100(found.children.bundle.cohort_rate)),
            ("log-odds there: mean (SD)", f"{signed(mix.there.mean)} ({fixed(mix.there.sd)})"),
            ("log-odds here: mean (SD)", f"{signed(mix.here.mean)} ({fixed(mix.here.sd)})"),
            ("c there if the model were exactly right", fixed(mix.there.c_if_right)),
            ("c here if the model were exactly right", fixed(mix.here.c_if_right)),
            ("children whom the gates let have a number", f"{mix.shown:.0%}"),
        )
    )
    yield Paragraph(
        "What the bundle tells of its own cohort is rounded; log-odds and c there rest on children drawn from its "
        "means and covariances. Where children here are more alike, c is lower with the same model."
    )
    head = ("what", "there", "here", "apart, in SD", "missing there", "missing here")
    rows = tuple(_mix(line) for line in mix.lines)
    yield Table("Means (SD) of numbers, shares of levels", head, rows, (1, 2, 3, 4, 5))


def _mix(line: MixLine) -> tuple[str, ...]:
    unit = f", {line.unit}" if line.unit else ""
    what = f"{line.label}: {line.level}" if line.level else f"{line.label}{unit}"
    missing_there = ABSENT if line.missing_there is None else f"{line.missing_there:.0%}"
    there, here = _amount(line.there, line.there_sd), _amount(line.here, line.here_sd)
    return (what, there, here, signed(line.difference), missing_there, f"{line.missing_here:.0%}")


def _amount(value: float | None, sd: float | None) -> str:
    if value is None:
        return ABSENT
    return f"{value:.0%}" if sd is None else f"{fixed(value)} ({fixed(sd)})"


def _measures(found: Elsewhere) -> Iterator[Block]:
    held = found.performance.measures
    head = ("measure", "here", f"{LEVEL:.0%} interval", "made by")
    rows = tuple((MEASURES.get(name, name), fixed(r.value, 3), _interval(r, 3), _made(r)) for name, r in held.items())
    yield Table("On these children", head, rows, (1, 2))
    yield Table("What the measures mean", ("measure", "meaning"), _meanings(held))
    reasons = dict.fromkeys(ranged.reason for ranged in held.values() if ranged.reason)
    yield from (Paragraph(f"Where a dash stands: {reason}.") for reason in reasons)
    yield Paragraph(
        "ICI and its like cannot be negative: with few events their intervals lie too high. Censoring weights are made "
        "anew in each bootstrap sample; intervals by formula take them as known."
    )
    curve = found.performance.curve
    if len(curve.predicted) < CURVE_GRID:
        yield Paragraph(f"No calibration curve: {curve.reason}.")
        return
    band = (curve.low.tolist(), curve.high.tolist()) if len(curve.low) else (None, None)
    drawn = Calibration(curve.predicted.tolist(), curve.observed.tolist(), *band)
    words = calibration_words(drawn)
    yield Figures((Figure(calibration_curve(drawn, words).svg, "Risks given, and what happened", words),))


def _meanings(held: Mapping[str, Ranged]) -> tuple[tuple[str, str], ...]:
    return tuple((MEASURES.get(name, name), MEANINGS[name]) for name in held if name in MEANINGS)


def _made(ranged: Ranged) -> str:
    return "bootstrap" if ranged.resampled else "formula"


def _interval(ranged: Ranged, digits: int = 2) -> str:
    if ranged.low is None or ranged.high is None:
        return ABSENT
    return f"{fixed(ranged.low, digits)} to {fixed(ranged.high, digits)}"


def _parts(found: Elsewhere) -> Iterator[Block]:
    if not found.parts:
        yield Paragraph("The protocol names neither a centre nor a subgroup.")
        return
    head = ("what", "which", "children", "events", *(MEASURES[name] for name in IN_PARTS))
    yield Table("Each part on its own", head, tuple(_part(part) for part in found.parts), (2, 3, 4, 5, 6))
    if found.between:
        rows = tuple(_between(name, held) for name, held in found.between.items())
        words = ("measure", "centres", "average", "interval", "in a new centre", "variance between")
        yield Table("Pooled over centres with enough events: random effects", words, rows, (1, 2, 3, 4, 5))


def _part(part: Part) -> tuple[str, ...]:
    cells = [_cell(part.measures[name]) for name in IN_PARTS]
    return (part.of, part.name, str(part.children), str(part.events), *cells)


def _cell(ranged: Ranged) -> str:
    if ranged.value is None:
        return TOO_FEW if ranged.reason == TOO_FEW else ABSENT
    return f"{fixed(ranged.value)} ({_interval(ranged)})"


def _between(name: str, held: Pooled) -> tuple[str, ...]:
    return (
        BETWEEN[name],
        str(held.centres),
        fixed(held.mean),
        f"{fixed(held.low)} to {fixed(held.high)}",
        f"{fixed(held.prediction_low)} to {fixed(held.prediction_high)}",
        fixed(held.tau2, 3),
    )


def _years(found: Elsewhere) -> Iterator[Block]:
    head = ("year", "children", "not known", "observed", "expected", "allowed by chance", "what it says")
    rows = tuple(
        (
            period.name,
            str(period.children),
            str(period.not_known),
            str(period.observed),
            short(round(period.expected, 1)),
            f"{period.inner.low} to {period.inner.high}",
            period.verdict.value,
        )
        for period in found.years
    )
    yield Paragraph(
        "Children whose horizon has passed and whose outcome is known. Of many years one in 20 lies outside by chance."
    )
    yield Table("Events observed and expected", head, rows, (1, 2, 3, 4, 5))
