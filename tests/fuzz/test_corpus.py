"""The corpus and a few mutants with every change: refused in words or read, never a fault of ours."""

import warnings
from random import Random

import pytest

from riskmodel.bundle import read
from riskmodel.errors import BundleError
from tests.fuzz.mutations import VALUES, bundle_mutant, resealed
from tests.fuzz.seeds import CORPUS, expanded, seeds
from tests.fuzz.targets import TARGETS, read_bundle, read_cohort
from tests.packaging import GOLDEN

PATCHES = sorted((CORPUS / "bundle").iterdir())


@pytest.mark.parametrize("name", sorted(path.name for path in (CORPUS / "cohort").iterdir()))
def test_a_strange_cohort_is_met_with_words(name: str) -> None:
    read_cohort((CORPUS / "cohort" / name).read_bytes())


@pytest.mark.parametrize("name", [path.name for path in PATCHES])
def test_a_strange_bundle_is_met_with_words(name: str) -> None:
    read_bundle(expanded(CORPUS / "bundle" / name))


@pytest.mark.parametrize("target", sorted(TARGETS))
@pytest.mark.parametrize("seed", range(6))
def test_a_mutant_is_met_with_words(target: str, seed: int) -> None:
    rng = Random(seed)  # noqa: S311 - mutants, not secrets
    check, mutant = TARGETS[target]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # numpy warns of numbers that a well-sealed but absurd bundle holds
        check(mutant(rng.choice(seeds(target)), rng))


def test_making_mutants_leaves_what_they_are_made_of_as_it_was() -> None:
    """A value that was put in twice, and spoilt once put in, would be spoilt for good, or hold itself."""
    kept, raw = repr(VALUES), b'{"a": [[], {}, {"b": [1.0]}], "c": {}}'
    for seed in range(400):
        rng, mutant = Random(seed), raw  # noqa: S311 - mutants, not secrets
        for _ in range(5):
            mutant = bundle_mutant(mutant, rng)
    assert repr(VALUES) == kept


def test_sealing_anew_is_what_makes_the_content_count(tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("sealed") / "golden.riskmodel.json"
    path.write_bytes(resealed(GOLDEN.read_bytes()))
    assert path.read_bytes() == GOLDEN.read_bytes()
    strange = next(entry for entry in PATCHES if entry.name.startswith("kind_that_is_a_list"))
    path.write_bytes(resealed(expanded(strange)))
    with pytest.raises(BundleError, match="must have a kind, one of"):
        read(path)


def test_the_corpus_is_small() -> None:
    assert sum(path.stat().st_size for path in CORPUS.rglob("*")) < 200_000
