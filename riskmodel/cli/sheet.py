"""`riskmodel sheet`: the surgeon's page, or the family's sheet, of one child."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TypedDict, Unpack

import click

from riskmodel import plans, scoring
from riskmodel.cases import read_case_file
from riskmodel.cli.day import on_option
from riskmodel.cli.files import write_whole
from riskmodel.cli.plans import conference
from riskmodel.cli.status import tell
from riskmodel.documents import family, surgeon
from riskmodel.documents.family import Avoid, Choice, FamilyOptions
from riskmodel.documents.languages import available
from riskmodel.documents.scored import Scored, score
from riskmodel.scoring import Scorer

FLAGS = ("reasons", "growing_up", "young_person", "halo", "joined_skull")
TICKS = (*(choice.value for choice in Choice), *(avoid.value for avoid in Avoid), *FLAGS)
ENDINGS = (".pdf", ".html", ".md", ".json")


class Options(TypedDict):
    """What stands beside case, reader and file."""

    bundle: tuple[Path, ...]
    language: str
    tick: tuple[str, ...]
    signed: str
    on: date
    plans: Path | None
    stock: Path | None
    limits: Path | None


@click.command("sheet")
@click.argument("case", type=click.Path(path_type=Path))
@click.option(
    "--bundle", required=True, multiple=True, type=click.Path(path_type=Path), help="A model; may be repeated."
)
@click.option("--for", "reader", required=True, type=click.Choice(["surgeon", "family"]), help="Who will read it.")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="FILE.pdf|.html|.md|.json")
@click.option(
    "--language", default="en", show_default=True, type=click.Choice(available()), help="Of the family's sheet."
)
@click.option("--tick", multiple=True, type=click.Choice(TICKS), help="What the family's sheet shall hold; repeatable.")
@click.option(
    "--signed", default="", metavar="INITIALS", help="Who talked it through (family) or read it back (surgeon)."
)
@click.option(
    "--plans",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Plans; a family is given no number for one that contradicts itself.",
)
@click.option("--stock", type=click.Path(path_type=Path), metavar="FILE", help="Your shelf; else a shipped example.")
@click.option("--limits", type=click.Path(path_type=Path), metavar="FILE", help="Limits that you see otherwise.")
@on_option("the sheet")
def command(*, case: Path, reader: str, out: Path, **options: Unpack[Options]) -> None:
    """Write the sheet of the child in CASE (a TOML file) for the surgeon or the family; FILE's ending says which kind.

    A number that a gate or a rule withholds is no failure: the sheet then says why.
    """
    _check(reader, out, options)
    on, held, scorers = options["on"], read_case_file(case), [scoring.load(path) for path in options["bundle"]]
    answers = [score(scorer, held.values, on=on, case_id=held.case_id) for scorer in scorers]
    for answer in answers:
        tell(answer.doubts)
    if reader == "family":
        contradicts = bool(options["plans"]) and plans.contradicted(_planned(case, options, on), held.values)
        made = _family([replace(answer, plan_contradicts=contradicts) for answer in answers], options, on)
    else:
        made = _surgeon(_planned(case, options, on, scorers), answers, options["signed"])
    write_whole(out, made[out.suffix.lower()]())


def _check(reader: str, out: Path, options: Options) -> None:
    if out.suffix.lower() not in ENDINGS:
        raise click.UsageError(f"--out must end in one of {', '.join(ENDINGS)}")
    if reader == "surgeon" and (options["tick"] or options["language"] != "en"):
        raise click.UsageError(
            "--tick and --language are for the family's sheet; leave them out for the surgeon's page"
        )
    if reader == "family" and not options["plans"] and (options["stock"] or options["limits"]):
        raise click.UsageError("--stock and --limits go with --plans; leave them out, or give the plans too")


def _planned(case: Path, options: Options, on: date, scorers: Sequence[Scorer] = ()) -> plans.Summary:
    read = conference(case, options["plans"], stock=options["stock"], limits=options["limits"])
    summary = plans.summarise(read, plans.Asking(on), scorers)
    tell(summary.findings)
    return summary


def _family(answers: list[Scored], options: Options, on: date) -> dict[str, Callable[[], str | bytes]]:
    ticked = frozenset(options["tick"])
    chosen = FamilyOptions(
        choices=tuple(choice for choice in Choice if choice.value in ticked),
        avoid=tuple(avoid for avoid in Avoid if avoid.value in ticked),
        initials=options["signed"],
        talked_on=on if options["signed"].strip() else None,
        language=options["language"],
        **{flag: flag in ticked for flag in FLAGS},
    )
    sheet = family.summarise(answers, chosen, on=on)
    return {
        ".pdf": lambda: family.to_pdf(sheet),
        ".html": lambda: family.to_html(sheet),
        ".md": lambda: family.to_markdown(sheet),
        ".json": lambda: family.to_json(sheet),
    }


def _surgeon(summary: plans.Summary, answers: list[Scored], signed: str) -> dict[str, Callable[[], str | bytes]]:
    page = surgeon.summarise(answers, summary, read_back_by=signed)
    return {
        ".pdf": lambda: surgeon.to_pdf(page),
        ".html": lambda: surgeon.to_html(page),
        ".md": lambda: surgeon.to_markdown(page),
        ".json": lambda: surgeon.to_json(page),
    }
