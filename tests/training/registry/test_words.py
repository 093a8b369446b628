"""Words for nothing, yes and no, several words in a cell, one column per flag."""

from pathlib import Path

import pytest

from riskmodel.errors import Refused
from tests.training.registry.build import column, one, refused, rules, tidied

ADI = """
[sheet.column."ADI"]
to = "adi_mm"
"""
GRAFT = """
[sheet.column."Graft"]
to = "graft_kind"
"""
REVISED = """
[sheet.column."Revised"]
to = "revision"
[sheet.column."Revised".codes]
"Y" = "yes"
"1" = "yes"
"✓" = "yes"
"N" = "no"
"0" = "no"
"+/-" = "unknown"
"""
REMOVED = """
[sheet.column."Bone"]
to = "planned_decompression"
separators = ["+", "and"]
[sheet.column."Bone".codes]
"FM" = "foramen_magnum"
"C1" = "c1_arch"
"nil" = "none"
"""
EMPTY_WORDS = ("NA", "N/A", "nil", "-", "?", "unk", "none", "ND", "x", 99, 999, -1)


def test_no_word_is_taken_for_nothing_unasked(tmp_path: Path) -> None:
    headers, rows = one("ADI", EMPTY_WORDS)
    findings = refused(tmp_path, headers, rows, ADI)
    # The numbers can be read; what refuses 99 and 999 is the range.
    assert [finding.row for finding in findings if finding.rule == "not_a_number"] == list(range(2, 11))
    assert [finding.row for finding in findings if finding.rule == "outside_hard"] == [11, 12]


def test_each_word_needs_its_line(tmp_path: Path) -> None:
    headers, rows = one("ADI", [*EMPTY_WORDS, "nm", 4])
    lines = "\n".join(f'"{word}" = "missing"' for word in EMPTY_WORDS)
    words = f'{ADI}[sheet.column."ADI".empty]\n{lines}\n"NM" = "not_measurable"'
    held = tidied(tmp_path, headers, rows, words)
    assert column(held, "adi_mm") == [*[""] * len(EMPTY_WORDS), "not_measurable", "4"]


def test_none_is_a_level_where_the_dictionary_has_one(tmp_path: Path) -> None:
    headers, rows = one("Graft", ["none", "nil"])
    held = tidied(tmp_path, headers, rows, GRAFT, sheet='empty = { "nil" = "missing", "NA" = "missing" }')
    assert column(held, "graft_kind") == ["none", ""]


def test_a_column_overrides_the_words_of_its_sheet(tmp_path: Path) -> None:
    headers, rows = one("Graft", ["nil"])
    words = GRAFT + '[sheet.column."Graft".codes]\n"nil" = "none"'
    held = tidied(tmp_path, headers, rows, words, sheet='empty = { "nil" = "missing" }')
    assert column(held, "graft_kind") == ["none"]


def test_a_state_that_the_variable_does_not_have_is_refused(tmp_path: Path) -> None:
    headers, rows = one("Graft", ["nil"])
    findings = refused(tmp_path, headers, rows, GRAFT + '[sheet.column."Graft".empty]\n"nil" = "not_tested"')
    assert rules(findings) == ["unknown_code"]
    findings = refused(tmp_path, headers, rows, GRAFT, sheet='empty = { "nil" = "not_tested" }')
    assert rules(findings) == ["unknown_code"]


def test_yes_and_no_in_their_spellings(tmp_path: Path) -> None:
    cells = ["Y", "n", 1, 0, "✓", "yes", "+/-"]
    rows = [(f"A-{n}", "2019-04-03", cell, "2020-04-03" if cell in ("Y", 1, "✓", "yes") else None, "2022-04-03")
            for n, cell in enumerate(cells)]  # fmt: skip
    more = '[sheet.column."When"]\nto = "revision_date"\n[sheet.column."Seen"]\nto = "last_contact_date"\n'
    held = tidied(tmp_path, ("Revised", "When", "Seen"), rows, REVISED + more)
    assert column(held, "revision") == ["yes", "no", "yes", "no", "yes", "yes", "unknown"]


def test_an_unknown_word_is_a_finding_with_the_codes(tmp_path: Path) -> None:
    headers, rows = one("Revised", ["maybe"])
    (finding,) = refused(tmp_path, headers, rows, REVISED)
    assert (finding.row, finding.found, finding.rule) == (2, "maybe", "unknown_word")
    assert "no, yes, unknown" in finding.accepted


def test_an_open_question_in_the_map_is_refused_where_it_matters(tmp_path: Path) -> None:
    asked = GRAFT + '[sheet.column."Graft".codes]\n"rib+iliac" = "?"\n"iliac" = "structural_own"'
    headers, rows = one("Graft", ["iliac"])
    assert column(tidied(tmp_path, headers, rows, asked), "graft_kind") == ["structural_own"]
    headers, rows = one("Graft", ["rib + iliac", "rib+iliac"])
    assert rules(refused(tmp_path, headers, rows, asked)) == ["unknown_word", "unanswered"]


def test_several_flags_in_a_cell(tmp_path: Path) -> None:
    headers, rows = one("Bone", ["FM+C1", "c1 and fm", "nil", None, "ventral"])
    held = tidied(tmp_path, headers, rows, REMOVED)
    both = "foramen_magnum+c1_arch"
    assert column(held, "planned_decompression") == [both, both, "none", "", "ventral"]


FLAGS = "".join(
    f'[sheet.column."{header}"]\nto = "planned_decompression"\nreads = "flag"\nflag = "{flag}"\nBLANK\n'
    f'[sheet.column."{header}".codes]\n"Y" = "yes"\n"N" = "no"\n'
    for header, flag in (("FM?", "foramen_magnum"), ("C1?", "c1_arch"))
)


def test_one_column_per_flag(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", "Y", "N"), ("A-2", "2019-04-03", "Y", "Y"), ("A-3", "2019-04-03", "N", "N"),
            ("A-4", "2019-04-03", None, None)]  # fmt: skip
    held = tidied(tmp_path, ("FM?", "C1?"), rows, FLAGS.replace("BLANK", ""))
    assert column(held, "planned_decompression") == ["foramen_magnum", "foramen_magnum+c1_arch", "none", ""]


def test_a_blank_flag_is_no_only_if_the_map_says_so(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", "Y", None)]
    (finding,) = refused(tmp_path, ("FM?", "C1?"), rows, FLAGS.replace("BLANK", ""))
    assert (finding.rule, finding.column) == ("blank_flag", "C1?")
    held = tidied(tmp_path, ("FM?", "C1?"), rows, FLAGS.replace("BLANK", 'blank = "no"'))
    assert column(held, "planned_decompression") == ["foramen_magnum"]


def test_every_fault_is_named_at_once(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", "maybe", "wide"), ("A-2", "2019-04-03", "perhaps", "3 furlongs")]
    with pytest.raises(Refused) as caught:
        tidied(tmp_path, ("Revised", "ADI"), rows, REVISED + ADI)
    assert [(finding.row, finding.column) for finding in caught.value.findings] == [
        (2, "Revised"), (2, "ADI"), (3, "Revised"), (3, "ADI"),
    ]  # fmt: skip
