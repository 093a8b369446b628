"""The names at the top of the package, loaded when asked for."""

import pytest

import riskmodel
from riskmodel import errors, scoring


def test_every_public_name_is_there() -> None:
    assert riskmodel.Scorer is scoring.Scorer
    assert riskmodel.load is scoring.load
    for name in set(riskmodel.__all__) - {"Scorer", "load"}:
        assert getattr(riskmodel, name) is getattr(errors, name)


def test_every_public_name_is_listed() -> None:
    assert set(riskmodel.__all__) <= set(dir(riskmodel))


def test_a_name_that_is_not_there_is_said_as_python_says_it() -> None:
    with pytest.raises(AttributeError, match="module 'riskmodel' has no attribute 'fit'"):
        riskmodel.fit  # noqa: B018  -- the access is what is tested
