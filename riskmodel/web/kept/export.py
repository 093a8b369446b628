"""Kept answers as a table: a row for each, the typed values under the dictionary's names."""

import io
from collections.abc import Iterable

from riskmodel.tables import Cell, write_csv
from riskmodel.web.kept.records import Kept, KeptChild

HEAD = (
    *("case_id", "kept_id", "kept_on", "kept_by", "model", "digest", "demonstration", "outcome", "horizon_months"),
    *("shown", "probability", "low", "high", "event", "operated_month", "noted_on", "noted_by"),
)


def to_csv(held: Iterable[KeptChild]) -> str:
    """CSV by the rules of every table that the program writes: no cell is taken for a formula."""
    children = tuple(held)
    names = tuple(dict.fromkeys(name for child in children for name in child.kept.values if name not in HEAD))
    stream = io.StringIO()
    write_csv(stream, (*HEAD, *names), (_row(child, names) for child in children))
    return stream.getvalue()


def _row(child: KeptChild, names: tuple[str, ...]) -> tuple[Cell, ...]:
    return (*_about(child.kept), *_since(child), *(child.kept.values.get(name, "") for name in names))


def _about(kept: Kept) -> tuple[Cell, ...]:
    interval = kept.answer["interval"] or {}
    about = (kept.case_id, kept.id, kept.kept_on, kept.kept_by, kept.model, kept.digest, kept.demonstration)
    shown = (kept.answer["shown"], kept.probability, interval.get("low"), interval.get("high"))
    return (*about, kept.outcome, kept.horizon_months, *shown)


def _since(child: KeptChild) -> tuple[Cell, ...]:
    since = child.since
    if since is None:
        return (None, None, None, None)
    month = f"{since.operated:%Y-%m}" if since.operated else None
    return since.event.value, month, since.noted_on, since.noted_by
