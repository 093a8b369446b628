"""A plans file: written and read it is the same, order of keys means nothing, and what cannot be read is not known."""

import tomllib
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.plans import plans_of
from riskmodel.plans.saving import plans_text
from riskmodel.plans.words import LEVELS, Graft, GraftHold, JointsPrepared, Level, Removal, Step, Support
from tests.properties import SOME, seeded
from tests.properties.planning import distinct_anchors

Document = dict[str, Any]
TEXTS = st.text(st.characters(codec="utf-8"), min_size=1, max_size=30).filter(str.strip)
# What no key of a plan takes.
UNREADABLE = st.one_of(
    st.sampled_from(({}, [{}], "3 mm", "O C2", 2.5, [1, 2], -1, 1e300)), st.text("xyz", min_size=1, max_size=4)
)


def _some(kind: Any) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from([word.value for word in kind]), unique=True, max_size=3)


def _one(kind: Any) -> st.SearchStrategy[str]:
    return st.sampled_from([word.value for word in kind])


OPTIONAL: dict[str, st.SearchStrategy[Any]] = {
    "title": TEXTS,
    "connector": st.booleans(),
    "graft": _some(Graft),
    "graft_held_by": _one(GraftHold),
    "graft_upper": _one(Level),
    "graft_lower": _one(Level),
    "support": _one(Support),
    "decompression": _some(Removal),
    "spacer": st.fixed_dictionaries({}, optional={"right_mm": st.floats(0.5, 25), "left_mm": st.integers(1, 25)}),
    "joints_prepared": _one(JointsPrepared),
    "occipital_bone_left_mm": st.floats(0, 80),
    "bmp": st.booleans(),
}


@st.composite
def documents(draw: st.DrawFn) -> Document:
    """A plans file without a fault, as it is parsed: one to three plans, each from the occiput to T4."""
    names = draw(st.lists(TEXTS, min_size=1, max_size=3, unique=True))
    decided = draw(st.dictionaries(_one(Step), TEXTS, max_size=3))
    return {"format": 1, "plan": [draw(_plans(name)) for name in names], "decided": decided}


@st.composite
def _plans(draw: st.DrawFn, name: str) -> Document:
    held = draw(seeded(lambda random: distinct_anchors(random, LEVELS, 5)))
    typed = [
        {"level": one.level.value, "side": one.side.value, "kind": one.kind.value}
        | ({} if one.diameter_mm is None else {"diameter_mm": one.diameter_mm})
        | ({} if one.length_mm is None else {"length_mm": one.length_mm})
        for one in held
    ]
    needed = {"name": name, "upper": "O", "lower": "T4", "rods": draw(st.integers(0, 6)), "anchor": typed}
    return {**needed, **draw(st.fixed_dictionaries({}, optional=OPTIONAL))}


def _shuffled(held: Any, random: Any) -> Any:
    """The same document, the keys of every table in another order; lists keep theirs."""
    if isinstance(held, list):
        return [_shuffled(part, random) for part in held]
    if not isinstance(held, dict):
        return held
    names = list(held)
    random.shuffle(names)
    return {name: _shuffled(held[name], random) for name in names}


@SOME
@given(documents())
def test_written_and_read_it_is_the_same(document: Document) -> None:
    read = plans_of(document)
    assert read.findings == ()
    assert len(read.plans) == len(document["plan"])
    assert all(plan.complete for plan in read.plans)
    assert [len(plan.anchors) for plan in read.plans] == [len(plan["anchor"]) for plan in document["plan"]]
    assert plans_of(tomllib.loads(plans_text(document))) == read


@SOME
@given(documents(), st.randoms(use_true_random=False))
def test_the_order_of_keys_changes_nothing(document: Document, random: Any) -> None:
    turned = _shuffled(document, random)
    assert plans_of(turned) == plans_of(document)
    assert plans_of(tomllib.loads(plans_text(turned))) == plans_of(document)


@SOME
@given(documents(), st.randoms(use_true_random=False))
def test_anchors_in_another_order_are_the_same_anchors(document: Document, random: Any) -> None:
    plain = plans_of(document).plans
    for plan in document["plan"]:
        random.shuffle(plan["anchor"])
    for held, turned in zip(plain, plans_of(document).plans, strict=True):
        assert set(held.anchors) == set(turned.anchors)
        assert replace(turned, anchors=held.anchors) == held


@pytest.mark.parametrize("key", sorted(set(OPTIONAL) - {"title"}))
@SOME
@given(documents(), UNREADABLE)
def test_what_cannot_be_read_is_named_once_and_then_not_known(key: str, document: Document, junk: Any) -> None:
    (first, *others) = document["plan"]
    silent = {name: value for name, value in first.items() if name != key}
    spoilt = plans_of({**document, "plan": [{**silent, key: junk}, *others]})
    unsaid = plans_of({**document, "plan": [silent, *others]})
    assert spoilt.plans[1:] == unsaid.plans[1:]
    if spoilt.findings:
        assert not spoilt.plans[0].complete
        assert replace(spoilt.plans[0], complete=True) == unsaid.plans[0]
        assert all(f"plan[1].{key}" in str(finding) for finding in spoilt.findings)
        assert len(spoilt.findings) == 1


@SOME
@given(documents(), st.sampled_from(("level", "side", "kind", "diameter_mm", "length_mm")), UNREADABLE)
def test_an_anchor_that_cannot_be_read_is_left_out_whole(document: Document, key: str, junk: Any) -> None:
    """Half of it would be another anchor: one without a size has the usual one."""
    (first, *others) = document["plan"]
    plain = plans_of(document).plans[0]
    faulty = {
        "level": "C2",
        "side": "right",
        "kind": "subfacetal_screw",
        "diameter_mm": 3.5,
        "length_mm": 14,
        key: junk,
    }
    spoilt = plans_of({**document, "plan": [{**first, "anchor": [*first["anchor"], faulty]}, *others]})
    if spoilt.findings:
        assert replace(spoilt.plans[0], complete=True) == plain
        assert len(spoilt.findings) == 1
