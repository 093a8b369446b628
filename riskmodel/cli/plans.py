"""`riskmodel plans`: the planning conference of one child."""

import json
from datetime import date
from pathlib import Path
from typing import TypedDict, Unpack

import click

from riskmodel import dictionary as dictionaries
from riskmodel import plans, scoring
from riskmodel.cases import read_case_file
from riskmodel.cli.day import on_option
from riskmodel.cli.status import tell
from riskmodel.documents import planning
from riskmodel.plans.risks import CONFOUNDED


class Options(TypedDict):
    """What stands beside the case and the plans."""

    bundle: tuple[Path, ...]
    stock: Path | None
    limits: Path | None
    unlock: tuple[str, ...]
    numbers: bool
    on: date


@click.command("plans")
@click.argument("case", type=click.Path(path_type=Path))
@click.argument("file", metavar="PLANS", type=click.Path(path_type=Path))
@click.option("--bundle", multiple=True, type=click.Path(path_type=Path), help="A model; may be repeated.")
@click.option("--stock", type=click.Path(path_type=Path), metavar="FILE", help="Your shelf; else a shipped example.")
@click.option("--limits", type=click.Path(path_type=Path), metavar="FILE", help="Limits that you see otherwise.")
@click.option("--numbers", is_flag=True, help="Also each plan's own number, in the order typed.")
@click.option("--unlock", multiple=True, type=click.Choice(CONFOUNDED), help="Let plans differ in a confounded field.")
@on_option("planning")
@click.option("--json", "as_json", is_flag=True, help="The summary as JSON.")
def command(*, case: Path, file: Path, as_json: bool, **options: Unpack[Options]) -> None:
    """Say what fits where in the child of CASE, what contradicts itself in the plans of PLANS, and what must be ready.

    Measured paths (a table of corridors) are read from NAME.corridors.csv beside the case file, if it is there. Without
    a model it is anatomy alone. Whatever cannot be used is named, also on stderr, and the rest stands: the exit status
    is then 0 too; it is 1 when nothing of a file can be read.
    """
    held = conference(case, file, stock=options["stock"], limits=options["limits"])
    scorers = [scoring.load(path) for path in options["bundle"]]
    asking = plans.Asking(options["on"], frozenset(options["unlock"]), options["numbers"])
    summary = plans.summarise(held, asking, scorers)
    tell(summary.findings)
    if as_json:
        click.echo(json.dumps(planning.to_document(summary), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        click.echo("\n".join(planning.lines(summary)))


def conference(
    case: Path, file: Path | None, *, stock: Path | None = None, limits: Path | None = None
) -> plans.Conference:
    """Everything read from files: the case with the corridors beside it, the plans if any, the shelf and the limits.

    Raises
    ------
    Refused
        When one of the files cannot be read at all.
    """
    words = dictionaries.read("cvj")
    held, beside = read_case_file(case), plans.corridors_beside(case)
    corridors, found = plans.read_corridors(beside, words, case_id=held.case_id) if beside else ((), ())
    child, doubts = plans.child_of(held.values, words, case_id=held.case_id, corridors=corridors, sheet=case.name)
    typed = plans.read_plans(file) if file else plans.PlansFile((), {}, ())
    shelf, agreed = plans.read_stock(stock), plans.read_limits(limits)
    return plans.Conference(child, held.values, typed, agreed, shelf, (*doubts, *found))
