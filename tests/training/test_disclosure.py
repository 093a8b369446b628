"""No child leaves the hospital: an attack on the bundle that finds planted children unless the rules hide them.

The attacker has the bundle, knows how it is made, and knows all the planted child's columns but wants them confirmed:
every stored covariance is turned back into sums over children, the draws' covariance is inverted and the priors are
taken off, and each row is compared with the planted children's.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.bundle import Bundle
from riskmodel.cases.table import column
from riskmodel.like_cases import share_words
from riskmodel.missing import Holds, coordinates
from tests import demonstration
from training.candidates import SumOfTerms
from training.cohort import Cohort
from training.features import FEWEST_CARRIERS, declare, learn
from training.fitting.assemble import assemble
from training.fitting.coarse import coarse_means, indicators, shown_children
from training.fitting.disclosure import missing_share, ranges
from training.moments import PRIOR_CHILDREN
from training.outcome import at_horizon
from training.replay import prepare, run

SINGLETON, DOUBLETON = [0], [1, 2]
AGE = 17.93


def planted() -> Cohort:
    """The demonstration cohort with two conditions that one child and two children have, and nobody lacks a value."""
    cohort = demonstration.cohort()
    codes = cohort.dictionary.variables["condition"].codes
    full = np.flatnonzero(~declare(cohort, demonstration.protocol()).recipe.holes(cohort.cases))
    cohort = cohort.take(full)
    condition, age = cohort.cases["condition"].values.copy(), cohort.cases["age_years"].values.copy()
    rare = {codes.index("loeys_dietz"): SINGLETON, codes.index("juvenile_arthritis"): DOUBLETON}
    condition[np.isin(condition, list(rare))] = codes.index("ehlers_danlos")
    for code, rows in rare.items():
        condition[rows] = code
    age[SINGLETON] = AGE
    held = {"condition": column(condition), "age_years": column(age)}
    return replace(cohort, cases=cohort.cases.with_columns(held))


def fitted(cohort: Cohort, fewest: int) -> Bundle:
    """A bundle of that cohort; `fewest` under 5 switches the rule of carriers off, and the rounding of moments."""
    protocol = demonstration.protocol()
    outcome = at_horizon(cohort, protocol)
    declared = declare(cohort, protocol, fewest=fewest)
    design = learn(cohort, protocol, declared=declared)
    candidate = SumOfTerms("penalised", rank=2, uses_terms=True)
    counts = np.ones(len(cohort))
    fit = candidate.fit(design, cohort, outcome, counts=counts, rng=np.random.default_rng(1))
    replays = run(prepare(cohort, protocol, declared=declared), times=20, rng=np.random.default_rng(2))
    bundle = assemble(cohort, protocol, outcome, design, fit, replays, np.random.default_rng(3))
    if fewest >= FEWEST_CARRIERS:
        return bundle
    exact = replace(design.recipe.moments, normals=bundle.moments.normals)
    return replace(bundle, moments=exact, column_means=design.column_means)


def from_moments(bundle: Bundle) -> Iterator[np.ndarray]:
    """Sums of rows over the children who carry one coordinate, for every coordinate and every likely cohort size."""
    mean, covariance = bundle.moments.mean, bundle.moments.covariance
    least = int(bundle.cohort["children"].split()[-1])
    for children in range(least, least + 5):
        own = np.diag(covariance).copy()
        scatter = covariance * (children + PRIOR_CHILDREN)
        scatter[np.diag_indices_from(scatter)] = own * children
        sums = scatter + children * np.outer(mean, mean)
        yield from sums


def from_draws(bundle: Bundle) -> Iterator[np.ndarray]:
    """Rows of the information in the draws, priors taken off, scaled to the column's own."""
    coefficients = bundle.draws[:, 1:]
    learned = np.flatnonzero(coefficients.std(axis=0) > 0)
    information = np.linalg.inv(np.cov(coefficients[:, learned].T) + 1e-12 * np.eye(len(learned)))
    for scale in np.geomspace(0.05, 1.5, 6):
        rest = information - np.eye(len(learned)) / scale**2
        for j, row in enumerate(rest):
            full = np.zeros(coefficients.shape[1])
            full[learned] = row / rest[j, j]
            yield full


def found_in_moments(bundle: Bundle, cohort: Cohort, rows: list[int]) -> bool:
    """Whether some recovered sum is the planted children's, to a hundredth in every coordinate."""
    target = coordinates(cohort.cases, bundle.moments.blocks)[rows].sum(axis=0)
    return any(np.abs(held - target).max() < 0.01 for held in from_moments(bundle))


def found_in_draws(bundle: Bundle, cohort: Cohort, rows: list[int]) -> bool:
    """Whether some recovered row points the way of the planted children's (centred) columns."""
    centred = bundle.model.recipe.expected(cohort.cases)[rows].mean(axis=0) - bundle.column_means
    return any(np.corrcoef(held, centred)[0, 1] > 0.95 for held in from_draws(bundle))


@pytest.mark.parametrize("rows", [SINGLETON, DOUBLETON])
def test_the_attack_finds_planted_children_when_the_rule_is_off(rows: list[int]) -> None:
    cohort = planted()
    assert found_in_moments(fitted(cohort, 1), cohort, rows)


@pytest.mark.parametrize("rows", [SINGLETON, DOUBLETON])
def test_the_attack_finds_nobody_when_the_rule_is_on(rows: list[int]) -> None:
    cohort = planted()
    bundle = fitted(cohort, 5)
    assert not found_in_moments(bundle, cohort, rows)
    assert not found_in_draws(bundle, cohort, rows)
    names = {name for block in bundle.moments.blocks for name in block.names}
    assert not names & {"loeys_dietz", "juvenile_arthritis"}


def cells(bundle: Bundle) -> np.ndarray:
    """Children in every cell of two indicators, as an attacker works them out from the moments."""
    held = bundle.moments
    marks = np.concatenate([np.full(block.width, block.holds is not Holds.NUMBER) for block in held.blocks])
    children = shown_children(bundle.cohort)
    counts: np.ndarray = ((held.covariance + np.outer(held.mean, held.mean)) * children)[np.ix_(marks, marks)]
    return counts


def test_no_cell_of_two_indicators_can_be_counted() -> None:
    """Exact moments give every count back; those of the bundle give multiples of 5, and so do the shares."""
    cohort = planted()
    exact, told = cells(fitted(cohort, 1)), cells(fitted(cohort, 5))
    held = (exact > 0.5) & (exact < 4.5)
    assert held.sum() > 20
    bundle = fitted(cohort, 5)
    shares = told.diagonal() / shown_children(bundle.cohort)
    unrelated = np.outer(shares, shares) * shown_children(bundle.cohort)
    off = np.minimum(np.abs(told - 5.0 * np.round(told / 5.0)), np.abs(told - unrelated))
    assert off.max() < 1.0
    kinds = indicators(bundle.terms, bundle.dictionary)
    counts = bundle.column_means[kinds] * shown_children(bundle.cohort)
    assert counts == pytest.approx(5.0 * np.round(counts / 5.0), abs=1e-6)


def test_rounding_what_was_rounded_changes_no_mean() -> None:
    bundle = demonstration.bundle()
    kinds, children = indicators(bundle.terms, bundle.dictionary), shown_children(bundle.cohort)
    again = coarse_means(bundle.column_means, kinds, children)
    assert again == pytest.approx(bundle.column_means, abs=1e-12)


def test_no_border_stands_on_a_child() -> None:
    cohort = planted()
    bundle = fitted(cohort, 5)
    low, high = bundle.ranges.numbers["age_years"]
    ages = np.sort(cohort.cases["age_years"].values)
    assert high < AGE
    assert np.count_nonzero(ages >= high - 1e-9) >= 5 or high > ages[-5]
    assert np.count_nonzero(ages <= low + 1e-9) >= 1
    assert ranges(cohort, demonstration.protocol(), depth=1).numbers["age_years"][1] == pytest.approx(18.0, abs=0.1)


def test_counts_are_rounded_down_and_small_ones_unnamed() -> None:
    facts = demonstration.bundle().cohort
    told = [facts["children"], facts["events"], *facts["left_out"].values(), *facts["made_of"].values()]
    for words in told:
        assert words == "fewer than 5" or int(words.removeprefix("at least ")) % 5 == 0
    for support in demonstration.bundle().support:
        assert all(cell.at_least >= 5 and cell.at_least % 5 == 0 for cell in support.cells)


@pytest.mark.parametrize(("lacking", "told"), [(0, 0), (3, 0), (4, 0), (5, 5), (9, 5), (12, 10)])
def test_a_share_of_what_is_missing_gives_no_exact_count_back(lacking: int, told: int) -> None:
    """In 53 children: told of multiples of 5 alone. To the nearest twentieth 3 of 53 were 5%, and 2 of 53 were too."""
    cohort = demonstration.cohort().take(np.arange(53))
    ages = cohort.cases["age_years"].values.copy()
    ages[np.isnan(ages)] = 4.0
    ages[:lacking] = np.nan
    held = replace(cohort, cases=cohort.cases.with_columns({"age_years": column(ages)}))
    share = missing_share(held, "age_years")
    assert share == pytest.approx(told / 50, abs=1e-9)
    # 50 children say the same as 53: the exact size does not come back either.
    assert share == missing_share(held.take(np.arange(50)), "age_years")
    assert (share_words(share) == "fewer than 5 children") == (lacking < 5)
