"""How fast sheets are typeset: 100 for surgeons, 100 for families. `python -m tests.bench.sheets`.

The peer is the same typesetter on the same words as one plain paragraph each: what remains is the layout of the page.
"""

import json
import sys
from collections.abc import Callable, Sequence
from datetime import date
from time import perf_counter, process_time
from typing import TypeVar

import typst

from riskmodel import plans
from riskmodel.cases import read_case_file
from riskmodel.cli.plans import conference
from riskmodel.documents import family, surgeon
from riskmodel.documents.family import Avoid, Choice, FamilyOptions, FamilySheet
from riskmodel.documents.scored import score
from riskmodel.documents.surgeon import SurgeonPage
from riskmodel.scoring import Scorer
from tests import demonstration

ON = date(2026, 12, 1)
Held = TypeVar("Held")
COUNT, BOUND = 100, 10.0
CHILDREN = ("CM-031", "EH-112", "HS-009", "TW-204")
OPTIONS = FamilyOptions(choices=tuple(Choice), avoid=tuple(Avoid), growing_up=True, young_person=True)
_PLAIN = """
#set document(title: "words", date: none)
#set text(lang: "en")
#title()
#for line in json(bytes(sys.inputs.held)) { par(line) }
"""


def pages() -> tuple[list[SurgeonPage], list[FamilySheet]]:
    """Both sheets of the demonstration children, under both models."""
    scorers = [Scorer(demonstration.bundle(name)) for name in ("fixation_failure_24m", "revision_24m")]
    for_surgeons, for_families = [], []
    for name in CHILDREN:
        case = demonstration.CASES / f"{name}.toml"
        values = read_case_file(case).values
        answers = [score(scorer, values, on=ON, case_id=name) for scorer in scorers]
        read = conference(case, demonstration.FOLDER / "plans" / f"{name}.toml")
        for_surgeons.append(surgeon.summarise(answers, plans.summarise(read, plans.Asking(ON), scorers)))
        for_families.append(family.summarise(answers, OPTIONS, on=ON))
    return for_surgeons, for_families


def _timed(make: Callable[[Held], object], held: Sequence[Held]) -> tuple[float, float]:
    """Seconds by the clock and of the processor for `COUNT` documents."""
    begun, worked = perf_counter(), process_time()
    for i in range(COUNT):
        make(held[i % len(held)])
    return perf_counter() - begun, process_time() - worked


def _plain(words: str) -> object:
    source, held = _PLAIN.encode(), json.dumps(words.splitlines())
    return typst.compile(source, format="pdf", sys_inputs={"held": held}, ignore_system_fonts=True)


def main() -> bool:
    """Print the figures; False when a hundred take longer than the bound."""
    for_surgeons, for_families = pages()
    words = [surgeon.to_markdown(page) for page in for_surgeons]
    plain, _ = _timed(_plain, words)
    within = True
    print(f"sheets, {COUNT} of each (bound {BOUND:.0f} s)")
    for reader, (seconds, worked) in {
        "surgeon": _timed(surgeon.to_pdf, for_surgeons),
        "family": _timed(family.to_pdf, for_families),
    }.items():
        ratio = seconds / plain
        print(f"  {reader}: {seconds:.1f} s, {worked:.1f} s of the processor; plain paragraphs times {ratio:.1f}")
        within &= seconds < BOUND
    return within


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
