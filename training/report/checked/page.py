"""The report as a page."""

from collections.abc import Iterator

from riskmodel.documents.blocks import Block, Bullets, Facts, Figures, Page, Paragraph, Section, Table
from riskmodel.documents.cautions import DEMONSTRATION, cautions
from riskmodel.documents.words import of_100
from riskmodel.errors import Severity
from riskmodel.like_cases import FEWER
from training.report.checked.courses import Courses
from training.report.checked.hidden import LEAST, one
from training.report.checked.missing import MissingMap
from training.report.checked.pictures import followed_figure, missing_figure
from training.report.checked.summary import Checked, Looked
from training.report.checked.todo import Group, Item

NOWHERE = "the file"


def page(held: Checked) -> Page:
    """The report of a check; what to do comes first."""
    protocol = held.protocol
    sections = [Section("What to do", tuple(_verdict(held)))]
    sections += [Section(group.todo.value, (_findings(group),)) for group in held.groups]
    if held.looked is not None:
        sections += _cohort(held.looked, held)
    if held.missing is not None:
        sections.append(Section("What is missing", tuple(_missing(held.missing))))
    sections.append(Section("Read this with it", (Bullets(cautions(demonstration=protocol.demonstration)),)))
    return Page(
        title=f"Check of {held.file}",
        subtitle=f"under the protocol {protocol.name}: {protocol.title}",
        band=DEMONSTRATION if protocol.demonstration else None,
        foot=f"{held.file} · {protocol.name} · shows cells of the cohort: stays in the department",
        sections=tuple(sections),
    )


def _verdict(held: Checked) -> Iterator[Block]:
    if held.errors:
        count = "1 finding refuses" if held.errors == 1 else f"{held.errors:,} findings refuse"
        yield Paragraph(f"{count} this cohort. Nothing can be fitted to it before they are mended.", strong=True)
    elif held.looked is None:
        yield Paragraph("This cohort cannot be used as the protocol asks.", strong=True)
    else:
        yield Paragraph("Nothing refuses this cohort.", strong=True)
    rows = tuple((group.todo.value, _how_many(group)) for group in held.groups)
    if rows:
        yield Facts(rows)


def _how_many(group: Group) -> str:
    findings = "1 finding" if group.count == 1 else f"{group.count:,} findings"
    return findings if group.errors else f"{findings}, no error among them"


def _findings(group: Group) -> Table:
    rows = tuple(_item(item) for item in group.items)
    return Table(
        f"{group.todo.value}: by column",
        ("where", "rows", "found, the first of them", "accepted", "how many"),
        rows,
        (4,),
    )


def _item(item: Item) -> tuple[str, ...]:
    place = " · ".join(part for part in (item.sheet, item.column) if part) or NOWHERE
    rows = ", ".join(map(str, item.rows)) + (", ..." if item.rows and item.count > len(item.rows) else "")
    mark = "" if item.severity is Severity.ERROR else "warning: "
    return place, rows, mark + item.found, item.accepted, f"{item.count:,}"


def _cohort(looked: Looked, held: Checked) -> Iterator[Section]:
    yield Section("Who is in", tuple(_flow(looked)))
    yield Section("What became of them", tuple(_outcome(looked, held)))
    yield Section("How long they are followed", tuple(_follow_up(looked, held)))
    for title, part, table in (("Centre by centre", "centre", looked.centres), ("Era by era", "years", looked.eras)):
        if table is not None:
            yield Section(title, (_courses(f"{title}: counts by the horizon, small ones not shown", part, table),))


def _flow(looked: Looked) -> Iterator[Block]:
    left = looked.outcome.children
    before = left + sum(count for _, count in looked.flow)
    small = any(count < LEAST for _, count in looked.flow)
    rows = [("children in the file", "not shown: it would give a small count away" if small else f"{before:,}")]
    rows += [(f"left out: {reason}", one(count)) for reason, count in looked.flow]
    yield Facts((*rows, ("children in the cohort", one(left))))


def _outcome(looked: Looked, held: Checked) -> Iterator[Block]:
    rules, outcome = held.protocol.outcome, looked.outcome
    if rules.horizon_months is not None:
        yield Facts(
            (
                ("outcome", f"{rules.name} within {rules.horizon_months:g} months"),
                ("visit window", f"{rules.visit_window_months:g} months"),
                ("moved to the horizon by the window", one(outcome.in_window)),
            )
        )
    yield _courses("Counts by the horizon", "children of", looked.whole)
    yield Table("Share with the event under each definition", ("definition", "share"), tuple(_rates(looked)), (1,))


def _rates(looked: Looked) -> Iterator[tuple[str, str]]:
    """A share is shown where at least five children had the event, or none."""
    outcome = looked.outcome
    for name, rate in outcome.rates.items():
        few = rate is not None and rate * outcome.children < LEAST
        yield name, "not known" if rate is None else f"{FEWER} children" if few else of_100(rate)
    for months, rate in outcome.rates_by_window.items():
        if rate is not None:
            yield f"the protocol's, with a visit window of {months:g} months", of_100(rate)


def _follow_up(looked: Looked, held: Checked) -> Iterator[Block]:
    median = looked.outcome.follow_up_months
    told = "not reached" if median is None else f"{median:.0f} months"
    yield Facts((("median, by reverse Kaplan-Meier", told),))
    if looked.followed:
        yield Figures((followed_figure(looked.followed, held.protocol.outcome.horizon_months),))


def _courses(caption: str, part: str, held: Courses) -> Table:
    """Followed is the median by reverse Kaplan-Meier; lost is last seen free, before the horizon."""
    head = (part, "children", *held.head, "followed, months")
    rows = tuple((name, children, *cells, median) for name, children, cells, median in held.rows)
    return Table(caption, head, rows, tuple(range(1, len(head))))


def _missing(held: MissingMap) -> Iterator[Block]:
    if held.gaps:
        yield Figures((missing_figure(held),))
        rows = tuple((gap.label, *(share.words for share in gap.shares)) for gap in held.gaps)
        yield Table("Missing, of 100 children", ("variable", *held.parts), rows)
    if held.complete:
        yield Paragraph("Hardly anything is missing of: " + "; ".join(held.complete) + ".")
    yield Paragraph(
        "Not measurable, not applicable and not tested are answers and are not counted here. A blank is never a no."
    )
