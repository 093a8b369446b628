"""Earlier and later children, and kinds of children."""

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.cases.table import column
from riskmodel.dictionary.model import Kind, Level, Moment, Variable
from tests.training.validation.worlds import examined, placed, plain
from training.cohort import course
from training.protocol import ReportRules
from training.validation.eras import before_and_after
from training.validation.refit import Examined
from training.validation.subgroups import by_kind


def over_time(count: int = 400, **rules: object) -> Examined:
    cohort, protocol = plain(count)
    asked = replace(protocol, report=ReportRules(**rules))  # type: ignore[arg-type]
    return examined(placed(cohort, years=2010 + np.arange(count) // 40), asked)


def test_the_later_children_are_given_what_the_earlier_taught() -> None:
    held = over_time()
    later = held.cohort.year.values >= 2015  # type: ignore[union-attr]
    status = held.cohort.course.status.copy()
    status[later] = 1 - status[later]
    turned = examined(replace(held.cohort, course=course(status)), held.protocol)
    found, other = before_and_after(held).held_out, before_and_after(turned).held_out
    assert found is not None
    assert other is not None
    assert found.children == int(later.sum())
    assert found.mean_risk == other.mean_risk
    assert found.c.value == pytest.approx(1.0 - (other.c.value or 0.0))


def test_the_protocol_says_where_the_later_era_begins() -> None:
    assert before_and_after(over_time()).from_year == 2015
    found = before_and_after(over_time(era_from=2018))
    assert found.from_year == 2018
    assert [era.standing.children for era in found.eras] == [320, 80]


def test_all_children_on_one_side_or_no_year_is_said() -> None:
    assert "on one side of 2050" in (before_and_after(over_time(era_from=2050)).reason or "")
    cohort, protocol = plain()
    assert "no year of operation" in (before_and_after(examined(cohort, protocol)).reason or "")


def test_too_few_earlier_events_give_no_model_and_say_so() -> None:
    cohort, protocol = plain(200)
    held = examined(placed(cohort, years=2010 + (np.arange(200) >= 20)), protocol)
    found = before_and_after(held)
    assert found.eras[0].standing.events < 10
    assert found.held_out is None
    assert (found.reason or "").startswith("no model of the earlier era: too few to say")


def in_kinds(sizes: tuple[int, ...]) -> Examined:
    cohort, protocol = plain(sum(sizes))
    codes = np.repeat(np.arange(len(sizes)), sizes).astype(np.float64)
    codes[0] = np.nan
    levels = tuple(Level(f"k{i}", f"Kind {i}") for i in range(len(sizes)))
    variable = Variable("kind", "Kind of child", Kind.LEVEL, Moment.CLINIC, levels=levels)
    words = replace(cohort.dictionary, variables={**cohort.dictionary.variables, "kind": variable})
    cases = cohort.cases.with_columns({"kind": column(codes)})
    asked = replace(protocol, report=ReportRules(subgroups=("kind",)))
    return examined(replace(cohort, cases=cases, dictionary=words), asked)


def test_kinds_have_their_own_standings_or_too_few_to_say() -> None:
    (found,) = by_kind(in_kinds((200, 150, 20)))
    told = {each.name: each for each in found.kinds}
    assert list(told) == ["Kind 0", "Kind 1", "Kind 2", "not known"]
    assert [each.children for each in found.kinds] == [199, 150, 20, 1]
    assert told["Kind 0"].c.value is not None
    assert (told["Kind 2"].c.reason or "").startswith("too few to say: ")


def test_the_parts_add_up_to_the_whole() -> None:
    held = in_kinds((200, 150, 50))
    (found,) = by_kind(held)
    assert sum(each.events for each in found.kinds) == held.outcome.events
    expected = sum(each.children * (each.mean_risk or 0.0) for each in found.kinds)
    assert expected == pytest.approx(held.left_out.sum())
