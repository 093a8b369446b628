"""Which kept answers are held against what happened."""

from datetime import date

from riskmodel.monitoring import Followed, by_half_year
from riskmodel.web.kept import Event, KeptChild
from riskmodel.web.kept.watch import watched
from tests.riskmodel.web.kept.builders import answer, kept, since

LATER = date(2029, 6, 1)


def child(number: int, event: Event = Event.NO, **changes: object) -> KeptChild:
    return KeptChild(kept(number, **changes), since(event))


def test_half_years_are_those_of_the_one_definition() -> None:
    held = [child(i, Event.YES if i < 3 else Event.NO, answer=answer(0.1 + 0.02 * i)) for i in range(12)]
    followed = [Followed(date(2026, 12, 31), 0.1 + 0.02 * i, i < 3) for i in range(12)]
    (model,) = watched(held, LATER)
    assert model.periods == by_half_year(followed, horizon_months=24.0, on=LATER)
    assert (model.periods[0].name, model.periods[0].children, model.periods[0].observed) == (
        "2026, second half",
        12,
        3,
    )


def test_models_are_kept_apart_by_their_digest() -> None:
    held = [child(1), child(2, digest="e" * 64)]
    assert [model.digest[0] for model in watched(held, LATER)] == ["d", "e"]


def test_of_several_answers_to_a_child_the_last_before_the_operation_counts() -> None:
    answers = [
        child(3, case_id="C", kept_on=date(2027, 1, 5), answer=answer(0.9)),  # after the operation
        child(2, case_id="C", kept_on=date(2026, 12, 20), answer=answer(0.3)),
        child(1, case_id="C", kept_on=date(2026, 11, 1), answer=answer(0.1)),
    ]
    (model,) = watched(answers, LATER)
    assert (model.periods[0].children, model.periods[0].expected) == (1, 0.3)


def test_what_cannot_be_compared_is_not_counted() -> None:
    held = [
        child(1, answer=answer(None)),
        KeptChild(kept(2), None),
        KeptChild(kept(3), since(Event.YES, operated=None)),
    ]
    assert watched(held, LATER) == ()


def test_before_the_horizon_nothing_is_compared() -> None:
    assert watched([child(1, Event.YES)], date(2028, 12, 30)) == ()


def test_a_child_whose_outcome_is_not_known_is_counted_apart() -> None:
    (model,) = watched([child(1, Event.UNKNOWN), child(2)], LATER)
    assert (model.periods[0].children, model.periods[0].not_known) == (1, 1)


def test_due_means_that_the_horizon_has_passed_and_nobody_knows() -> None:
    held = child(1, Event.UNKNOWN)
    assert not held.due(date(2028, 12, 30))
    assert held.due(LATER)
    assert not child(1, Event.NO).due(LATER)
    assert not KeptChild(kept(1), None).due(LATER)
