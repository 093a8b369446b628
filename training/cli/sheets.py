"""Both sheets of the demonstration children: the surgeon's page with their plans, and the family's sheet."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from riskmodel import cases as doors
from riskmodel import plans, scoring
from riskmodel.cli.plans import conference
from riskmodel.documents import family, surgeon
from riskmodel.documents.family import Avoid, Choice, FamilyOptions
from riskmodel.documents.scored import score
from riskmodel.scoring import Scorer

# Ticks of a clinician, invented like the children.
TICKS = FamilyOptions(
    choices=(Choice.THIS_OPERATION, Choice.OTHER_OPERATION, Choice.SCAN_AGAIN),
    avoid=(Avoid.JUMPING, Avoid.CONTACT_SPORT, Avoid.SLEEP_MEDICINE),
    growing_up=True,
)


def write_sheets(folder: Path, models: Sequence[Path], out: Path, *, on: date) -> None:
    """Write CASE.surgeon.pdf and CASE.family.pdf into `out` for every case in the demonstration's folder."""
    out.mkdir(exist_ok=True)
    scorers = [scoring.load(path) for path in models]
    for case in sorted((folder / "cases").glob("*.toml")):
        _write(case, folder / "plans" / case.name, scorers, out, on)


def _write(case: Path, typed: Path, scorers: Sequence[Scorer], out: Path, on: date) -> None:
    held = doors.read_case_file(case)
    planned = plans.summarise(conference(case, typed), plans.Asking(on), scorers)
    contradicts = plans.contradicted(planned, held.values)
    scored = [score(scorer, held.values, on=on, case_id=held.case_id) for scorer in scorers]
    answers = [replace(answer, plan_contradicts=contradicts) for answer in scored]
    page, sheet = surgeon.summarise(answers, planned), family.summarise(answers, TICKS, on=on)
    (out / f"{case.stem}.surgeon.pdf").write_bytes(surgeon.to_pdf(page))
    (out / f"{case.stem}.family.pdf").write_bytes(family.to_pdf(sheet))
