"""`riskmodel dictionary`: what each column means, for people and for programs."""

import json
from pathlib import Path

import click

from riskmodel import dictionary as dictionaries
from riskmodel.cases.cells import accepted
from riskmodel.dictionary.export import table_schema, template_columns
from riskmodel.dictionary.model import Dictionary, Variable
from riskmodel.tables import write_csv


@click.command("dictionary")
@click.option("--json", "as_json", is_flag=True, help="The whole dictionary, written out, as JSON.")
@click.option("--schema", is_flag=True, help="A Table Schema descriptor of the children's table.")
@click.option("--template", type=click.Path(path_type=Path), metavar="FILE.csv", help="Write an empty sheet to fill.")
@click.option("--of", default="cvj", show_default=True, metavar="NAME|PATH", help="A shipped dictionary, or a path.")
def command(*, as_json: bool, schema: bool, template: Path | None, of: str) -> None:
    """Show what each column means and what its cells may hold."""
    if as_json + schema + (template is not None) > 1:
        raise click.UsageError("--json, --schema and --template are asked for one at a time")
    held = dictionaries.read(of)
    if template is not None:
        write_csv(template, template_columns(held), [])
    elif as_json:
        click.echo(_json(dictionaries.to_document(held) | {"digest": held.digest}))
    elif schema:
        click.echo(_json(table_schema(held)))
    else:
        click.echo("\n".join(_lines(held)))


def _json(document: object) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False)


def _lines(held: Dictionary) -> list[str]:
    counts = f"{len(held.variables)} columns, {len(held.outcomes)} outcomes"
    lines = [f"{held.name}, version {held.version}: {counts}, digest {held.digest[:12]}", ""]
    lines += [line for variable in held.variables.values() for line in _entry(variable)]
    lines += ["", "Outcomes"]
    lines += [f"  {outcome.name}: {outcome.text or outcome.label}" for outcome in held.outcomes.values()]
    return lines


def _entry(variable: Variable) -> list[str]:
    core = ", core" if variable.core else ""
    head = f"{variable.name} ({variable.moment.value}{core}): {variable.label}"
    listed = [f"    {level.code}: {level.label}" for level in variable.levels if level.label != level.code]
    return [head, f"  {accepted(variable)}", *listed, *([f"  {variable.how}"] if variable.how else [])]
