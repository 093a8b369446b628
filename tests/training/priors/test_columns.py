"""From priors of terms to means and SDs of a model's columns."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

from riskmodel import derive, dictionary
from riskmodel.derive import Derivation
from riskmodel.errors import PriorsRefused
from riskmodel.terms import LevelColumn, Levels, Linear, Part, Product, States, Term, spline
from tests.training.builders import timed
from training.posterior import ColumnPriors
from training.priors import column_priors
from training.protocol import Protocol

CVJ = derive.extended(dictionary.read("cvj"), [Derivation("includes_occiput", "equals", ("upper_level",), "O")])
CONDITION = CVJ.variables["condition"].codes

AGE = Term("age_years", ("age_years",), Linear(8.0, 1.0, (1.5, 18.0), log2=True))
GROUPS = Term(
    "condition",
    ("condition",),
    Levels(CONDITION, (LevelColumn("laxity", ("down", "marfan")), LevelColumn("down", ("down",)))),
)
MARFAN = Term("condition", ("condition",), Levels(CONDITION, (LevelColumn("marfan", ("marfan",)),)))
ADI = Term("adi_mm", ("adi_mm",), Linear(4.0, 1.0))
ADI_STATES = Term("adi_mm:states", ("adi_mm",), States(("not_measurable",)))
DOWN_LOW = Term(
    "condition=down x not includes_occiput",
    ("condition", "includes_occiput"),
    Product(
        (
            Part("condition", Levels(CONDITION, (LevelColumn("down", ("down",)),))),
            Part("includes_occiput", Linear(), negated=True),
        )
    ),
)


def entry(term: str, mean: float = 0.5, sd: float = 0.2, **more: object) -> dict[str, object]:
    return {"term": term, "mean": mean, "sd": sd, "source": "a paper", "confidence": "H", **more}


def asked(*entries: dict[str, object], **head: object) -> Protocol:
    """A protocol with these priors."""
    document = MappingProxyType({"format": 1, **head, "prior": list(entries)})
    return replace(timed(24), priors=document)


def priors(protocol: Protocol, *terms: Term) -> ColumnPriors:
    block = np.zeros(sum(term.width for term in terms), dtype=np.int8)
    return column_priors(protocol, CVJ, terms, block)


def test_without_a_file_every_mean_is_nought_and_every_sd_is_learned() -> None:
    held = priors(timed(24), AGE, GROUPS)

    assert held.mean.tolist() == [0, 0, 0]
    assert np.isnan(held.sd).all()
    assert held.base_sd == np.inf


def test_an_entry_for_a_column_comes_before_one_for_the_term() -> None:
    protocol = asked(entry("condition", 0.1, 0.3), entry("condition", 0.7, 0.4, column="down"))
    held = priors(protocol, GROUPS)

    assert held.mean.tolist() == [0.1, 0.7]
    assert held.sd.tolist() == [0.3, 0.4]


def test_own_entries_give_the_mean_only() -> None:
    held = priors(asked(entry("adi_mm", kind="own"), library=True), ADI)

    assert held.mean.tolist() == [0.5]
    assert np.isnan(held.sd).all()


def test_an_entry_for_a_term_says_nothing_of_its_states() -> None:
    held = priors(asked(entry("adi_mm"), entry("adi_mm", -0.3, column="not_measurable")), ADI, ADI_STATES)
    assert held.mean.tolist() == [0.5, -0.3]

    held = priors(asked(entry("adi_mm")), ADI, ADI_STATES)
    assert held.mean.tolist() == [0.5, 0.0]
    assert np.isnan(held.sd).tolist() == [False, True]


def test_an_entry_for_a_spline_speaks_of_its_slope() -> None:
    basis = spline((1.0, 4.0, 8.0, 11.0), np.linspace(0, 12, 201), centre=4.0, scale=1.0, clip=None)
    held = priors(asked(entry("adi_mm")), Term("adi_mm", ("adi_mm",), basis))

    assert held.mean.tolist() == [0.5, 0, 0]
    assert np.isnan(held.sd).tolist() == [False, True, True]


def test_the_base_has_a_prior_only_when_the_file_has_one() -> None:
    held = priors(asked(entry("base", -1.7, 0.6)), AGE)

    assert (held.base_mean, held.base_sd) == (-1.7, 0.6)
    assert held.mean.tolist() == [0]


@pytest.mark.parametrize(("scale", "ratio"), [(1.0, 1.0), (5.0, 5.0)])
def test_a_prior_per_unit_follows_a_scale_that_the_protocol_names(scale: float, ratio: float) -> None:
    """A column in steps of 5 mm has five times the coefficient of one in mm."""
    held = priors(asked(entry("adi_mm")), Term("adi_mm", ("adi_mm",), Linear(4.0, scale)))

    assert held.mean.tolist() == [0.5 * ratio]
    assert held.sd.tolist() == [0.2 * ratio]


def test_the_unit_of_a_logarithm_is_a_doubling() -> None:
    year = CVJ.variables["operation_year"]
    assert year.scale == 10

    doubling = Term("operation_year", ("operation_year",), Linear(2020.0, 1.0, log2=True))
    decade = Term("operation_year", ("operation_year",), Linear(2020.0, 10.0))

    assert priors(asked(entry("age_years")), AGE).mean.tolist() == [0.5]
    for term in (doubling, decade):
        assert priors(asked(entry("operation_year")), term).mean.tolist() == [0.5]


def test_an_interaction_is_named_as_the_protocol_writes_it() -> None:
    held = priors(asked(entry("condition=down x not includes_occiput", 0.6, 0.5)), DOWN_LOW)

    assert held.mean.tolist() == [0.6]


def test_a_misspelt_term_or_column_is_refused_with_the_nearest_known() -> None:
    protocol = asked(entry("age_year"), entry("condition", column="dwon"), entry("adi_mm"))

    with pytest.raises(PriorsRefused) as refused:
        priors(protocol, AGE, GROUPS, ADI)

    found = [(finding.found, finding.accepted) for finding in refused.value.findings]
    assert found == [
        ("age_year", "age_years (the nearest known name)"),
        ("dwon of condition", "down (the nearest known name)"),
    ]


def test_a_library_may_speak_of_terms_that_the_protocol_lacks() -> None:
    held = priors(asked(entry("age_years"), entry("drill_line"), library=True), AGE)

    assert held.mean.tolist() == [0.5]


def test_a_rare_condition_leans_on_the_entry_for_all_of_them() -> None:
    held = priors(asked(entry("condition", 0.0, 0.3, kind="own")), MARFAN)

    assert held.mean.tolist() == [0.0]
    assert np.isnan(held.sd).all()
