"""`python -m training check`: everything that is wrong with a cohort, and what became of its children."""

import json
from pathlib import Path

import click

from riskmodel.cli.files import write_whole
from riskmodel.cli.status import tell
from riskmodel.documents.html import to_html
from training import cohort as cohorts
from training import protocol as protocols
from training.cli.summary import document, lines
from training.features import declare
from training.outcome import at_horizon, check_enough, summarise
from training.report import checked


@click.command("check")
@click.argument("cohort", type=click.Path(path_type=Path))
@click.option("--protocol", required=True, metavar="FILE|NAME", help="A protocol, or the name of a shipped one.")
@click.option("--json", "json_path", type=click.Path(path_type=Path), metavar="FILE", help="Write the summary as JSON.")
@click.option(
    "--report",
    type=click.Path(path_type=Path),
    metavar="FILE.html|.json",
    help="Write what to do and what the cohort looks like as one page, also when the cohort is refused.",
)
def command(*, cohort: Path, protocol: str, json_path: Path | None, report: Path | None) -> None:
    """Check COHORT (a CSV file, a workbook, or a folder of CSV files) under a protocol.

    Findings go to stderr, all of them at once; the summary goes to stdout.
    """
    if report is not None and report.suffix.lower() not in (".html", ".json"):
        raise click.UsageError("--report must end in .html or .json")
    asked = protocols.read(protocol)
    if report is not None:
        _write_report(report, checked.check_file(cohort, asked))
    held = cohorts.read(cohort, asked)
    tell(held.findings)
    summary = summarise(held, asked)
    click.echo("\n".join(lines(held, asked, summary)))
    warnings = check_enough(at_horizon(held, asked))
    declare(held, asked)
    tell(warnings)
    if json_path is not None:
        text = json.dumps(document(held, asked, summary, (*held.findings, *warnings)), indent=1, ensure_ascii=False)
        write_whole(json_path, text + "\n")


def _write_report(path: Path, held: checked.Checked) -> None:
    if path.suffix.lower() == ".html":
        write_whole(path, to_html(checked.page(held)))
    else:
        write_whole(path, json.dumps(checked.document(held), indent=1, ensure_ascii=False) + "\n")
