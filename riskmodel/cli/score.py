"""`riskmodel score`: estimates for new children."""

import json
from datetime import date
from pathlib import Path

import click

from riskmodel import cases as doors
from riskmodel import scoring, tables
from riskmodel.cases.table import CaseTable
from riskmodel.cli.day import on_option
from riskmodel.cli.files import write_whole
from riskmodel.cli.status import tell
from riskmodel.documents import answer, answer_text
from riskmodel.errors import CasesRefused, Finding, Severity
from riskmodel.scoring import Scorer


@click.command("score")
@click.argument("bundle", type=click.Path(path_type=Path))
@click.argument("cases", type=click.Path(path_type=Path))
@on_option("asking")
@click.option("--json", "as_json", is_flag=True, help="The answers as JSON.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="Write to FILE in place of stdout.")
def command(*, bundle: Path, cases: Path, on: date, as_json: bool, out: Path | None) -> None:
    """Score CASES (a CSV file, a workbook, or one child as TOML) with the model in BUNDLE.

    A number that a gate withholds is no failure: the exit status is then 0 too.
    """
    scorer = scoring.load(bundle)
    answers = scorer.score_table(_cases(scorer, cases), on=on)
    if as_json:
        document = answer.to_document(scorer.bundle, answers, on=on)
        text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    else:
        text = "\n".join(answer_text.lines(scorer.bundle, answers))
    if out is None:
        click.echo(text)
    else:
        write_whole(out, text + "\n")


def _cases(scorer: Scorer, path: Path) -> CaseTable:
    if path.suffix.lower() == ".toml":
        held = doors.read_case_file(path)
        cases, findings = scorer.read_case(held.values, case_id=held.case_id, sheet=path.name)
    else:
        cases, findings = scorer.read_table(_table(path))
    tell(findings)
    return cases


def _table(path: Path) -> tables.RawTable:
    held = tables.read(path)
    named = [table for table in held if table.sheet == "children"]
    if len(held) != 1 and len(named) != 1:
        found = ", ".join(table.sheet for table in held)
        accepted = "one sheet, or one named children"
        raise CasesRefused([Finding(path.name, None, None, found, accepted, Severity.ERROR, "which_sheet")])
    return held[0] if len(held) == 1 else named[0]
