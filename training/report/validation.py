"""The validation summary: every number as JSON, and the same numbers as a plain page."""

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from riskmodel.bundle import Bundle
from riskmodel.documents.blocks import Block, Bullets, Facts, Page, Paragraph, Section, Table
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.words import fixed, human, of_100
from training.fitting import Trained

FORMAT = 1


def document(trained: Trained, bundle: Bundle) -> dict[str, Any]:
    """Every number of the validation; a number that could not be had is null, with its reason beside it.

    It holds one number per child (how far its estimate moved between replays) and stays in the department.
    """
    replays = trained.replays
    performance = bundle.performance
    return {
        "format": FORMAT,
        "demonstration": bundle.demonstration,
        "cautions": list(bundle.cautions),
        "bundle": {"id": bundle.id, "digest": bundle.digest},
        "n": len(trained.cohort),
        "events": trained.outcome.events,
        "signal": bundle.signal,
        "measures": performance["measures"],
        "replays": performance["replays"],
        "instability": {"mean": replays.mean_instability, "per_child": replays.per_child_instability.tolist()},
        "definitions": performance["definitions"],
    }


def page(trained: Trained, held: Mapping[str, Any]) -> Page:
    """The summary as a page."""
    protocol = trained.protocol
    return Page(
        title=protocol.title,
        subtitle=f"Validation of {protocol.name}: what the replays say",
        band=DEMONSTRATION if protocol.demonstration else None,
        foot=f"{protocol.name} · digest {held['bundle']['digest'][:12]} · stays in the department",
        sections=(
            Section("The cohort", tuple(_cohort(trained, held))),
            Section("How well it did", tuple(_measures(held))),
            Section("How steady it is", tuple(_steadiness(trained, held))),
            Section("What the words mean", (Facts(tuple((human(k), v) for k, v in held["definitions"].items())),)),
            Section("Cautions", (Bullets(tuple(held["cautions"])),)),
        ),
    )


def _cohort(trained: Trained, held: Mapping[str, Any]) -> Iterator[Block]:
    outcome = trained.outcome
    yield Facts(
        (
            ("children", str(held["n"])),
            ("with the event by the horizon", str(held["events"])),
            ("known to be without it", str(outcome.non_events)),
            ("last seen free before the horizon", str(outcome.censored_before)),
            ("outcome not stated", str(outcome.unstated)),
            ("rate", of_100(trained.bundle.cohort_rate)),
        )
    )
    if not held["signal"]:
        yield Paragraph("The predictors told no more about left-out children than the rate did.", strong=True)


def _measures(held: Mapping[str, Any]) -> Iterator[Block]:
    rows = tuple(
        (
            human(name),
            *(fixed(entry[part], 3) for part in ("apparent", "harrell", "point632plus", "low", "high")),
            entry["reason"] or "",
        )
        for name, entry in held["measures"].items()
    )
    head = ("measure", "apparent", "corrected (Harrell)", "corrected (.632+)", "low", "high", "why there is no number")
    yield Table("Performance, as it appears and corrected for optimism", head, rows, (1, 2, 3, 4, 5))


def _steadiness(trained: Trained, held: Mapping[str, Any]) -> Iterator[Block]:
    replays, moved = held["replays"], np.array(held["instability"]["per_child"])
    failed = "; ".join(f"{count}: {why}" for why, count in replays["failed"].items()) or "none"
    yield Facts(
        (
            ("replays", str(replays["times"])),
            ("replays that gave nothing", failed),
            ("replays that came out as the rate", f"{replays['shrunk_to_rate']:.0%}"),
            ("a child's estimate moves by, on average", f"{100 * held['instability']['mean']:.1f} in 100"),
            ("the tenth of children that moves most, by at least", f"{100 * np.quantile(moved, 0.9):.1f} in 100"),
        )
    )
