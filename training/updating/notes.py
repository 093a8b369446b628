"""What a bundle says of its update: which tests were made, and which numbers moved."""

from collections.abc import Iterator
from datetime import date

from riskmodel.bundle import Bundle, Moved, Update
from riskmodel.documents.card.columns import column_words
from riskmodel.documents.words import fixed
from training.fitting.disclosure import rounded_down
from training.updating.children import Children
from training.updating.closed_test import Branch, ClosedTest, Comparison, Judge
from training.updating.steps import Step

SMALLEST_P = 0.001
WHOSE = {
    Branch.ORIGINAL: "everything is of the parent's cohort",
    Branch.INTERCEPT: "rate and performance are of these children; ranges, like cases, what completes missing values "
    "and everything that is said of the cohort are of the parent's",
    Branch.REFITTED: "everything is of these children, but for effects that too few of them carry, what completes "
    "missing values, and the advice on the size of a cohort, which are of the parent's",
}
WHOSE[Branch.RECALIBRATED] = WHOSE[Branch.INTERCEPT]
WHOSE_FROM_PRIOR = (
    "rate, performance and the mean of what was learned are of these children; ranges and like cases are of both "
    "cohorts; what completes missing values, and everything else that is said of the cohort, is of the parent's"
)


def note(children: Children, taken: Step, *, method: str, chosen: str, test: ClosedTest | None, on: date) -> Update:
    """The record of an update, for the bundle that comes from it; counts are rounded down."""
    before = children.bundle
    slope = test is not None and test.chosen is Branch.RECALIBRATED
    return Update(
        parent=before.digest,
        on=on,
        method=method,
        chosen=chosen,
        children=rounded_down(len(children)),
        events=rounded_down(children.outcome.events),
        interval=taken.interval,
        tests=() if test is None else tuple(sentence(each) for each in test.tests),
        moved=tuple(_slope(before, taken)) if slope else tuple(_moved(before, taken)),
        facts=WHOSE_FROM_PRIOR if test is None else WHOSE[test.chosen],
    )


def sentence(test: Comparison) -> str:
    """A test in one sentence."""
    p = f"p < {SMALLEST_P}" if test.p_value < SMALLEST_P else f"p = {test.p_value:.3f}"
    made = test.judge.value
    if test.judge is Judge.BOOTSTRAP:
        made = f"{made} of {test.draws} draws from the {test.null.value}"
    plural = "" if test.degrees_of_freedom == 1 else "s"
    return (
        f"{test.null.value} against {test.against.value}: {fixed(test.statistic)} with {test.degrees_of_freedom} "
        f"degree{plural} of freedom, {p} ({made})"
    )


def _slope(before: Bundle, taken: Step) -> Iterator[Moved]:
    """All coefficients moved by one factor: that factor says it."""
    yield Moved("intercept", before.intercept, taken.intercept)
    if len(before.coefficients):
        largest = int(abs(before.coefficients).argmax())
        yield Moved(
            "factor of every coefficient", 1.0, float(taken.coefficients[largest] / before.coefficients[largest])
        )


def _moved(before: Bundle, taken: Step) -> Iterator[Moved]:
    if taken.intercept != before.intercept:
        yield Moved("intercept", before.intercept, taken.intercept)
    at = 0
    for term in before.terms:
        for name in term.basis.names:
            first, second = float(before.coefficients[at]), float(taken.coefficients[at])
            if first != second:
                labels = " and ".join(before.dictionary.variables[each].label for each in term.variables)
                yield Moved(f"{labels}: {column_words(term, name, before.dictionary)}", first, second)
            at += 1
