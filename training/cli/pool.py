"""`python -m training pool`: one step of a fit over centres, from what each of them sent."""

from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

import click

from riskmodel import bundle as bundles
from riskmodel.cli.files import write_whole
from riskmodel.documents.cautions import DEMONSTRATION, GENERAL
from training import protocol as protocols
from training.protocol import Protocol
from training.report import pooled, results
from training.report.whole import put
from training.sharing import Counts, Judgement, PooledFit, Round, Stage, Sums, files, finish, freeze, step

Kind = TypeVar("Kind", Counts, Sums, Judgement, Round)


@click.command("pool")
@click.argument("paths", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--protocol", required=True, metavar="FILE|NAME", help="The protocol that all centres agreed on.")
@click.option("--moments", type=click.Path(path_type=Path), metavar="BUNDLE", help="Take the moments of this model.")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="ROUND|DIR")
@click.option("--replace", "replace_it", is_flag=True, help="Replace DIR if it is there.")
def command(*, paths: tuple[Path, ...], protocol: str, moments: Path | None, out: Path, replace_it: bool) -> None:
    """Take FILES, one of each centre and (but for the first step) the round that they answer.

    Writes the next round to send to every centre or, when the last one has been answered, the folder of the model.
    """
    asked = protocols.read(protocol)
    held = [files.read(path) for path in paths]
    made = _next(asked, held, None if moments is None else bundles.read(moments))
    if isinstance(made, Round):
        write_whole(out, files.text(made))
        click.echo(_said(made, out))
        return
    for what, path in put(out, lambda folder: fill(folder, made), replace_it=replace_it).items():
        click.echo(f"{what}: {path}")
    click.echo("\n".join([*([DEMONSTRATION] if asked.demonstration else []), " ".join(GENERAL[:2])]))


def _next(asked: Protocol, held: Sequence[files.AnyFile], moments: bundles.Bundle | None) -> Round | PooledFit:
    rounds = [each for each in held if isinstance(each, Round)]
    if not rounds:
        return freeze(asked, _only(held, Counts, asked), moments)
    if len(rounds) > 1:
        raise files.refused(asked.name, f"{len(rounds)} rounds", "the one round that the others answer", "many_rounds")
    answers = [each for each in held if each is not rounds[0]]
    if rounds[0].stage is Stage.FIT:
        return step(asked, rounds[0], _only(answers, Sums, asked))
    return finish(asked, rounds[0], _only(answers, Judgement, asked))


def _only(held: Sequence[files.AnyFile], wanted: type[Kind], asked: Protocol) -> list[Kind]:
    kind = next(name for name, each in files.KINDS.items() if each is wanted)
    found = [each for each in held if isinstance(each, wanted)]
    if len(found) < len(held) or not found:
        strange = ", ".join(sorted({type(each).__name__.lower() for each in held} - {kind})) or "nothing"
        raise files.refused(asked.name, strange, f"{kind} of every centre", "other_kind")
    return found


def _said(made: Round, out: Path) -> str:
    share = f"python -m training share COHORT --protocol {made.protocol} --at {out.name} --out FILE"
    what = "the fit has settled: ask every centre how it did" if made.stage is Stage.JUDGE else "ask every centre"
    return f"round {made.number} for {', '.join(made.centres)}: {what}\n  {share}"


def fill(folder: Path, made: PooledFit) -> dict[str, str]:
    """Write the model of all centres, its report and its card into a folder; what each file is -> its name."""
    return results.write(
        folder,
        made.bundle,
        "pooled",
        lambda sealed: pooled.document(made, sealed),
        lambda sealed: pooled.page(made, sealed),
    )
