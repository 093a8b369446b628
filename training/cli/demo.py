"""`python -m training demo`: the whole way on the invented demonstration cohort, and where to look."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import click

from riskmodel import cases as doors
from riskmodel import scoring
from riskmodel.cli.status import tell
from riskmodel.documents import answer
from riskmodel.documents.answer_text import headline
from riskmodel.documents.cautions import DEMONSTRATION, GENERAL
from riskmodel.documents.words import fixed
from riskmodel.scoring import RiskEstimate, Scorer
from training.advice import verdict
from training.cli.centres import pool_centres
from training.cli.fit import fit_with_bar
from training.cli.sheets import write_sheets
from training.fitting import Trained
from training.outcome import summarise
from training.report import folder

DEMONSTRATION_FOLDER = Path(__file__).parents[2] / "synthetic_cohort" / "demonstration"
SHORT = ("fixation_failure_24m", "revision_24m")
LONG = ("fixation_failure_24m_long", "revision_24m_long")


@click.command("demo")
@click.option("--full", is_flag=True, help="The long protocols as well, with every candidate.")
@click.option("--out", type=click.Path(path_type=Path), default=Path("demo"), show_default=True, metavar="DIR")
@click.option("--workers", type=click.IntRange(1, 64), default=2, show_default=True, help="Processes for the replays.")
@click.option("--replays", type=click.IntRange(20, 10_000), help="Replays; the protocol's number when not given.")
def command(*, full: bool, out: Path, workers: int, replays: int | None) -> None:
    """Check, fit, replay and score on 360 invented children, and write everything under demo/."""
    click.echo(DEMONSTRATION)
    out.mkdir(parents=True, exist_ok=True)
    for name in SHORT + LONG * full:
        trained = fit_with_bar(DEMONSTRATION_FOLDER / "children.csv", name, workers=workers, replays=replays)
        folder.write(trained, out / name, replace_it=True)
        click.echo("\n".join(_fitted(trained)))
        for told in _score(out, name, on=trained.protocol.released):
            click.echo(f"  {told.answer.case_id}, {told.says}: {headline(told.answer)}")
    models = [out / name / f"{name}.riskmodel.json" for name in SHORT]
    write_sheets(DEMONSTRATION_FOLDER, models, out / "sheets", on=trained.protocol.released)
    click.echo("\n".join(pool_centres(DEMONSTRATION_FOLDER / "children.csv", SHORT[1], out / "pooled")))
    click.echo("\n".join(_where_to_look(out)))


def _fitted(trained: Trained) -> Iterator[str]:
    summary = summarise(trained.cohort, trained.protocol)
    c = trained.replays.measures["c"]
    yield ""
    yield trained.protocol.title
    yield (
        f"  {summary.children} children, {summary.events} events, {summary.censored_before} lost before the horizon, "
        f"rate {100 * (summary.rate or 0.0):.1f} in 100; {trained.replays.times} replays"
    )
    yield (
        f"  c {fixed(c.apparent.value)} as it appears, {fixed(c.harrell.value)} corrected (Harrell), "
        f"{fixed(c.point632plus.value)} (.632+); calibration slope {fixed(trained.bundle.corrected('slope'))}"
    )
    yield f"  advice on a cohort of this size: {verdict(trained.advice)}; path taken: {trained.advice.path.value}"
    yield f"    {trained.advice.reason}"


@dataclass(frozen=True, slots=True)
class Told:
    """One demonstration child's answer, and what its case is there to show."""

    says: str
    answer: RiskEstimate


def _score(out: Path, name: str, *, on: date) -> Iterator[Told]:
    """Score the demonstration children and write each answer as JSON."""
    scorer = scoring.load(out / name / f"{name}.riskmodel.json")
    answers = out / "answers"
    answers.mkdir(exist_ok=True)
    for path in sorted((DEMONSTRATION_FOLDER / "cases").glob("*.toml")):
        told = score_file(scorer, path, on=on)
        document = answer.to_document(scorer.bundle, [told], on=on)
        text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        (answers / f"{name}-{path.stem}.json").write_text(text, encoding="utf-8")
        yield Told("lacking nothing" if not told.missing else f"lacking {len(told.missing)} values", told)


def score_file(scorer: Scorer, path: Path, *, on: date) -> RiskEstimate:
    """The estimate for a case file; what is doubtful in it is said on stderr.

    Raises
    ------
    CasesRefused
        When the file holds what cannot be read or cannot be true.
    """
    held = doors.read_case_file(path)
    cases, findings = scorer.read_case(held.values, case_id=held.case_id, sheet=path.name)
    tell(findings)
    return scorer.score_table(cases, on=on)[0]


def _where_to_look(out: Path) -> Iterator[str]:
    yield ""
    yield f"Look at {out}/PROTOCOL/*.card.html (what each model is and is not),"
    yield f"{out}/PROTOCOL/*.validation.html (how well it did), {out}/answers/*.json (the children above),"
    yield f"and {out}/sheets/*.pdf (the surgeon's page and the family's sheet of each)."
    yield " ".join(GENERAL[:2])
