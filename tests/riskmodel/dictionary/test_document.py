"""The dictionary as a document: there and back, with a digest that moves with the content and with nothing else."""

import hashlib
import json
from dataclasses import replace
from pathlib import Path

import pytest

from riskmodel import dictionary
from riskmodel.dictionary.document import assembled, digest_of
from riskmodel.errors import DictionaryRefused

CVJ = dictionary.read("cvj")


def test_the_document_holds_all_of_the_dictionary() -> None:
    document = json.loads(json.dumps(dictionary.to_document(CVJ)))
    assert dictionary.from_document(document) == CVJ


def test_the_digest_is_the_sha256_of_the_sorted_document() -> None:
    text = json.dumps(dictionary.to_document(CVJ), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert hashlib.sha256(text.encode()).hexdigest() == CVJ.digest


def test_the_digest_does_not_know_how_the_files_are_cut(tmp_path: Path) -> None:
    parts = {"one": 'format = 1\nname = "n"\nversion = "1"\n', "two": "format = 1\n"}
    entry = '[variable.{}]\nlabel = "L"\nkind = "yes_no"\nmoment = "clinic"\n'
    whole, folder = tmp_path / "whole.toml", tmp_path / "folder"
    folder.mkdir()
    whole.write_text(parts["one"] + entry.format("a") + entry.format("b"))
    (folder / "1.toml").write_text(parts["one"] + entry.format("a"))
    (folder / "2.toml").write_text(parts["two"] + entry.format("b") + "# a remark\n")
    assert dictionary.read(whole).digest == dictionary.read(folder).digest


@pytest.mark.parametrize(
    "change", [{"unit": "cm"}, {"hard": (-4.0, 30.0)}, {"label": "x"}, {"scale": 2.0}, {"states": ()}, {"core": False}]
)
def test_the_digest_moves_with_any_change(change: dict[str, object]) -> None:
    adi = replace(CVJ.variables["adi_mm"], **change)  # type: ignore[arg-type]
    other = replace(CVJ, variables={**CVJ.variables, "adi_mm": adi})
    assert digest_of(other) != CVJ.digest


def test_a_restricted_dictionary_keeps_groups_key_and_order() -> None:
    held = dictionary.restricted(CVJ, ["adi_mm", "condition", "age_years"])
    assert list(held.variables) == ["case_id", "age_years", "condition", "biology_group", "adi_mm"]
    assert not held.events
    assert held.digest != CVJ.digest
    assert dictionary.from_document(dictionary.to_document(held)) == held


def test_a_restricted_dictionary_brings_an_outcome_with_its_events() -> None:
    held = dictionary.restricted(CVJ, ["adi_mm"], "revision")
    assert list(held.outcomes) == ["revision"]
    assert {"return_construct", "death", "planned_removal"} <= set(held.events)
    assert "lucency_only" not in held.events
    assert dictionary.from_document(dictionary.to_document(held)) == held


def test_an_unknown_name_cannot_be_restricted_to() -> None:
    with pytest.raises(KeyError, match="adi_m"):
        dictionary.restricted(CVJ, ["adi_m"])


def test_an_altered_document_is_refused_with_all_that_is_wrong() -> None:
    document = dictionary.to_document(dictionary.restricted(CVJ, ["adi_mm", "condition"]))
    by_name = {part["name"]: part for part in document["variables"]}
    by_name["adi_mm"]["soft"] = [-9.0, 99.0]
    by_name["condition"]["levels"][0]["group"] = "nowhere"
    document["format"] = 7
    document["variables"].append(dict(by_name["adi_mm"]))
    with pytest.raises(DictionaryRefused) as refused:
        dictionary.from_document(document)
    rules = {finding.rule for finding in refused.value.findings}
    assert rules == {"format", "duplicate_name", "soft_outside_hard", "unknown_group"}


def test_assembling_gives_read_only_mappings() -> None:
    held = assembled("n", "1", CVJ.variables.values(), CVJ.events.values(), CVJ.outcomes.values())
    with pytest.raises(TypeError, match="does not support item assignment"):
        held.variables["x"] = CVJ.variables["adi_mm"]  # type: ignore[index]
