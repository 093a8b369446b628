"""A bundle's protocol is read again only under the dictionary that means the same."""

from dataclasses import replace
from pathlib import Path

import pytest

from riskmodel.errors import DictionaryRefused
from tests import demonstration
from tests.reference import KYPHOSIS
from tests.training.updating import worlds
from training.updating import protocol_of

SHIPPED = "kyphosis_dictionary.toml"


def changed(folder: Path, *swaps: tuple[str, str]) -> str:
    text = (KYPHOSIS / SHIPPED).read_text(encoding="utf-8")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    path = folder / "other.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def findings(named: str) -> list[str]:
    with pytest.raises(DictionaryRefused) as refused:
        protocol_of(worlds.halves()[0], named=named)
    return [str(finding) for finding in refused.value.findings]


def test_the_protocol_comes_back_as_it_was_but_for_what_was_believed_beforehand() -> None:
    asked = demonstration.protocol(worlds.REVISION)
    assert protocol_of(worlds.model()) == replace(asked, priors=None)
    bundle, protocol, _ = worlds.halves()
    assert protocol_of(bundle, beside=KYPHOSIS) == protocol
    assert protocol_of(bundle, named=str(KYPHOSIS / SHIPPED)) == protocol


def test_a_dictionary_that_is_not_shipped_has_to_be_given() -> None:
    with pytest.raises(DictionaryRefused, match=r"by --dictionary FILE or beside the model"):
        protocol_of(worlds.halves()[0])


def test_another_meaning_of_a_variable_is_refused_by_name(tmp_path: Path) -> None:
    found = findings(changed(tmp_path, ('unit = "months"', 'unit = "years"'), ("hard = [0, 216]", "hard = [0, 240]")))
    assert len(found) == 1
    assert (
        "found Age with another unit, hard range; accepted: as in the dictionary of the model, kyphosis 1" in found[0]
    )


def test_a_variable_that_is_not_there_is_named(tmp_path: Path) -> None:
    found = findings(changed(tmp_path, ("[variable.Start]", "[variable.Begin]")))
    assert len(found) == 1
    assert "no variable Start" in found[0]


def test_other_words_for_people_are_no_other_dictionary(tmp_path: Path) -> None:
    words = changed(tmp_path, ("Vertebrae involved", "How many vertebrae"), ("soft = [2, 12]", "soft = [2, 14]"))
    assert protocol_of(worlds.halves()[0], named=words).name == "kyphosis"


def test_another_outcome_definition_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "cvj"
    folder.mkdir()
    shipped = Path(__file__).parents[3] / "riskmodel" / "dictionary" / "cvj"
    for path in shipped.glob("*.toml"):
        text = path.read_text(encoding="utf-8")
        start = text.find("[outcome.revision]")
        if start >= 0:
            at = text.index('competes = ["death"', start)
            text = text[:at] + "competes = []" + text[text.index("\n", at) :]
        (folder / path.name).write_text(text, encoding="utf-8")
    with pytest.raises(DictionaryRefused) as refused:
        protocol_of(worlds.model(), named=str(folder))
    found = [str(finding) for finding in refused.value.findings]
    assert len(found) == 1
    assert "another outcome revision: competes = nothing" in found[0]
    assert {finding.rule for finding in refused.value.findings} == {"other_outcome"}
