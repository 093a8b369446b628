"""The page as blocks, for Markdown, in the order of the sheet."""

from collections.abc import Iterator

from riskmodel.documents.blocks import Block, Bullets, Facts, Page, Paragraph, Section, Table
from riskmodel.documents.surgeon.model import Account, Conference, Step, Strip, SurgeonPage
from riskmodel.documents.words import signed


def page(held: SurgeonPage) -> Page:
    """The blocks of the page."""
    return Page(
        title=held.case_id,
        subtitle=", ".join(f"{name} {value}" for name, value in held.conference.top),
        band=" ".join(held.marks) or None,
        foot=held.foot,
        sections=tuple(Section(title, blocks) for title, blocks in _sections(held) if blocks),
    )


def _sections(held: SurgeonPage) -> Iterator[tuple[str, tuple[Block, ...]]]:
    yield from _conference(held.conference)
    for strip in held.strips:
        yield f"Estimate: {strip.outcome}", tuple(_strip(strip))
    for account in held.accounts:
        yield f"Account: {account.outcome}", (_account(account),)
    yield "Doubts about the values typed", (Bullets(held.doubts),) if held.doubts else ()
    yield "Cautions", (Bullets(held.cautions),)
    models = tuple((held.model, f"digest {held.digest}, {held.use}") for held in held.identities)
    yield "Models", (Facts(models),) if models else ()


def _conference(held: Conference) -> Iterator[tuple[str, tuple[Block, ...]]]:
    for step in held.steps:
        yield f"{step.number}. {step.title}", tuple(_step(step))
    if held.ladder is not None:
        yield "Anchors", (Bullets(tuple(held.ladder.words.splitlines())),)
    for plan in held.plans:
        lines = (plan.levels, plan.anchors, *plan.contradictions)
        yield f"Plan {plan.name}: {plan.title}", (Bullets(tuple(line for line in lines if line)),)
    yield "If an anchor fails", (Facts(held.rescue),) if held.rescue else ()
    yield "Kit", (Bullets(held.kit),) if held.kit else ()
    yield "Stop rules", (Bullets(held.stop_rules),) if held.stop_rules else ()
    yield "To think of", (Facts(held.prompts),) if held.prompts else ()
    yield "Watch afterwards", (Facts(held.watch),) if held.watch else ()


def _step(step: Step) -> Iterator[Block]:
    decided = f"decided: {step.decided or 'not yet'}"
    yield Bullets((*step.measured, *(f"not known: {text}" for text in step.unknown), *step.prompts, decided))


def _strip(held: Strip) -> Iterator[Block]:
    yield Paragraph(headline(held), strong=True)
    for told in (held.refused, held.like, held.differences, held.missing, held.cautions):
        if told:
            yield Bullets(told)
    yield Paragraph(f"Calibration: {held.calibration}.")


def headline(held: Strip) -> str:
    """Range first, then the point; or that there is no number."""
    if held.low is None:
        return f"No number is shown; {held.published}."
    numbers = f"Between {held.low} and {held.high} in 100 ({held.level} range); best estimate {held.likely}"
    return f"{numbers}. In the cohort {held.rate}."


def _account(held: Account) -> Table:
    lines = tuple(
        (line.label, line.value, signed(line.log_odds), f"{signed(line.low)} to {signed(line.high)}", line.held)
        for line in held.lines
    )
    rows = (
        ("base: every measurement at the cohort's mean", held.base_of_100, signed(held.base), "", ""),
        *lines,
        ("this child", held.total_of_100, signed(held.total), "", ""),
    )
    head = ("what", "value", "log-odds", "90% interval", "sign held in")
    return Table("From the base to this child", head, rows, (2, 3, 4))
