"""Sections about what was believed and what was not measured, and about the trees."""

from collections.abc import Iterable, Iterator, Mapping

from riskmodel.documents.blocks import Block, Figures, Paragraph, Table
from riskmodel.documents.words import ABSENT, fixed, human, signed
from training.report.validation.cells import points, ranged
from training.report.validation.comparisons import before_and_after, dependences, summary
from training.report.validation.hangs import table
from training.report.validation.picture import side_by_side
from training.validation import Validation
from training.validation.beliefs import Learned
from training.validation.missing import Coefficient, MissingData
from training.validation.trees import Explained

BELIEF_HEAD = (
    "effect",
    "step",
    "before: mean (SD)",
    "after: mean (SD)",
    "moved, prior SDs",
    "data spoke",
    "conflict",
    "mean + 1 SD moves risks by",
)


def beliefs(found: Validation) -> Iterator[Block]:
    """Prior and posterior of every effect, and what other priors would have given."""
    if not found.beliefs:
        yield Paragraph("The model has no terms: there was nothing to believe of them.")
        return
    shown = [held for held in found.beliefs if held.carried]
    if any(held.prior_sd is not None for held in shown[1:]):
        yield side_by_side(before_and_after(found.beliefs))
    rows = tuple(_belief(held) for held in shown)
    yield Table("Before and after, in log-odds for one step", BELIEF_HEAD, rows, (2, 3, 4, 7))
    untold = len(found.beliefs) - len(shown)
    if untold:
        yield Paragraph(f"{untold} further effects are carried by fewer than 5 children and keep what was believed.")
    yield Paragraph(
        "Conflict: how many SDs the effect lies from where prior and design alone would put it; beyond 1.96 (marked !) "
        "prior and data contradict each other, as about one in twenty does by chance. The last column: by how many "
        "points risks move on average if the prior mean is raised by one SD."
    )
    yield Table("What the beliefs rest on", ("source", "effects"), tuple(_grounds(shown).items()))
    if found.priors:
        yield table("The same fit under other priors", "priors", found.priors)
    else:
        yield Paragraph("No other priors were tried: the fit has none (plain maximum likelihood), or no effect.")


def _belief(held: Learned) -> tuple[str, ...]:
    before = "flat" if held.prior_sd is None else f"{signed(held.prior_mean)} ({fixed(held.prior_sd)})"
    return (
        held.label,
        held.words,
        before,
        f"{signed(held.posterior_mean)} ({fixed(held.posterior_sd)})",
        signed(held.moved),
        "yes" if held.spoke else "no",
        f"{signed(held.conflict, 1)}!" if held.in_conflict else signed(held.conflict, 1),
        points(held.if_mean_rose),
    )


def _grounds(held: Iterable[Learned]) -> dict[str, str]:
    """Each source, and the effects that rest on it."""
    effects: dict[str, list[str]] = {}
    for each in held:
        source = each.source or "nothing: mean 0"
        learned = f"{source}; SD learned with the others" if each.sd_learned else source
        effects.setdefault(learned, []).append(f"{each.label}: {each.words}")
    return {source: "; ".join(names) for source, names in effects.items()}


def missing(held: MissingData, effects: Iterable[Learned]) -> Iterator[Block]:
    """Three ways of handling what is missing, coefficients under each, and what measuring would buy."""
    if held.reason is not None:
        yield Paragraph(f"{held.reason[:1].upper()}{held.reason[1:]}.")
        return
    yield Paragraph(f"{held.with_holes} children lack at least one value that the model reads.")
    rows = tuple((way.name, str(way.children), ranged(way.c), points(way.moved), way.reason or "") for way in held.ways)
    yield Table(
        "Three ways of handling what is missing",
        ("way", "children", "c, left out", "risks move by, points", "why none"),
        rows,
        (1, 3),
    )
    names = {(each.term, each.column): f"{each.label}: {each.words}" for each in effects}
    touched = tuple(_coefficient(each, names) for each in held.coefficients if each.lacking > 0.0)
    yield Table(
        "Effects of what is sometimes missing: log-odds (error)",
        ("effect", "lacking", "as shipped", "draws with the outcome", "missing information", "complete children"),
        touched,
        (1, 2, 3, 4, 5),
    )
    worth = tuple(
        (each.label, str(each.children), points(each.width_now), points(each.width_if_measured)) for each in held.worth
    )
    yield Table(
        "What measuring would buy the children who lack it",
        ("what", "children looked at", "90% interval now, points wide", "if it were measured"),
        worth,
        (1, 2, 3),
    )


def _coefficient(held: Coefficient, names: Mapping[tuple[str, str], str]) -> tuple[str, ...]:
    return (
        names.get((held.term, held.column), f"{human(held.term)} {human(held.column)}".strip()),
        f"{held.lacking:.0%}",
        _with_error(held.shipped, held.shipped_error),
        _with_error(held.drawn, held.drawn_error),
        ABSENT if held.information is None else f"{held.information:.0%}",
        _with_error(held.complete, held.complete_error),
    )


def _with_error(value: float | None, error: float | None) -> str:
    return ABSENT if value is None else f"{signed(value)} ({fixed(error)})"


def trees(held: tuple[Explained, ...]) -> Iterator[Block]:
    """What each kind of trees uses; nothing where none was compared."""
    for each in held:
        name = human(each.name).capitalize()
        if each.reason is not None:
            yield Paragraph(f"{name}: not explained, since {each.reason}.")
            continue
        yield Paragraph(
            f"{name}: {each.rounds} rounds at a learning rate of {each.learning_rate:g}, recalibrated with a slope of "
            f"{each.slope:.2f}. Explained on the log-odds scale (shap, path-dependent); the contributions add up to "
            f"the log-odds of every child. They describe the trees, not the children, and no number of theirs is used."
        )
        yield from (Figures((figure,)) for figure in (summary(each), dependences(each)) if figure is not None)
