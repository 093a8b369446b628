"""The dictionary: written and read it is the same; neither order nor what is left out touches the rest."""

import json

from hypothesis import given
from hypothesis import strategies as st

from riskmodel import dictionary as dictionaries
from tests.properties import SOME

WHOLE = dictionaries.read("cvj")
NAMES = st.lists(st.sampled_from(sorted(WHOLE.variables)), unique=True, max_size=12)


@SOME
@given(NAMES, st.sampled_from([None, *WHOLE.outcomes]))
def test_written_out_and_read_it_is_the_same(names: list[str], outcome: str | None) -> None:
    held = dictionaries.restricted(WHOLE, names, outcome)
    document = json.loads(json.dumps(dictionaries.to_document(held)))
    again = dictionaries.from_document(document)
    assert again == held
    assert again.digest == held.digest


@SOME
@given(NAMES, st.randoms(use_true_random=False))
def test_the_order_in_which_a_part_is_asked_for_changes_nothing(names: list[str], random: object) -> None:
    turned = list(reversed(names))
    held = dictionaries.restricted(WHOLE, names)
    assert dictionaries.restricted(WHOLE, turned) == held
    assert dictionaries.restricted(held, names) == held


@SOME
@given(NAMES)
def test_a_part_holds_its_variables_as_the_whole_does(names: list[str]) -> None:
    held = dictionaries.restricted(WHOLE, names)
    assert set(names) <= set(held.variables)
    assert all(WHOLE.variables[name] == variable for name, variable in held.variables.items())
    assert (held.digest == WHOLE.digest) is (set(held.variables) == set(WHOLE.variables))
