"""Plan, stock, limits and corridor files: what is read, and what is named."""

import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from riskmodel.anatomy.arteries import INTERNAL_MM, ISTHMUS_MM
from riskmodel.errors import PlanRefused, TableRefused
from riskmodel.plans import Corridor, plans_of, read_corridors, read_limits, read_plans, read_stock
from riskmodel.plans.limits import shipped_limits
from riskmodel.plans.on_the_shelf import check_stock
from riskmodel.plans.plan import Anchor, Plan, PlansFile, Spacers
from riskmodel.plans.reading import BONE_LEFT_MM, DIAMETER_MM, LENGTH_MM, SPACER_MM
from riskmodel.plans.words import Graft, JointsPrepared, Kind, Level, Removal, Side, Step, Support
from tests.riskmodel.plans.builders import anchor, dictionary, plan

Written = Callable[..., Path]

HEAD = 'format = 1\n[[plan]]\nname = "A"\nupper = "C1"\nlower = "C2"\nrods = 2\n'
SCREW = '[[plan.anchor]]\nlevel = "C2"\nside = "right"\nkind = "pedicle_screw"\ndiameter_mm = 3.5\n'


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """Write a text to a file and say where."""

    def write(text: str, name: str = "file.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def found(held: PlansFile) -> dict[str, str]:
    """What is accepted, by rule."""
    return {finding.rule: f"{finding.found} -> {finding.accepted}" for finding in held.findings}


def test_a_whole_plan_is_read(written: Written) -> None:
    held = read_plans(
        written(
            'format = 1\n[decided]\nlevels = "O-C2,\\n talked over"\n'
            '[[plan]]\nname = "A"\ntitle = "O-C2"\nupper = "O"\nlower = "C2"\nrods = 2\nconnector = true\n'
            'graft = ["iliac_structural", "local"]\ngraft_held_by = "cable_or_wire"\ngraft_upper = "O"\n'
            'graft_lower = "C2"\nsupport = "halo"\ndecompression = ["c1_arch"]\nspacer = { right_mm = 5 }\n'
            'joints_prepared = "both"\noccipital_bone_left_mm = 20\nbmp = false\n'
            '[[plan.anchor]]\nlevel = "O"\nside = "midline"\nkind = "midline_screw"\ndiameter_mm = 4.5\nlength_mm = 8\n'
        )
    )
    (read,) = held.plans
    assert held.findings == ()
    assert held.decided == {Step.LEVELS: "O-C2, talked over"}
    assert read.anchors == (Anchor(Level.O, Side.MIDLINE, Kind.MIDLINE_SCREW, 4.5, 8.0),)
    assert (read.graft, read.removal) == ((Graft.ILIAC_STRUCTURAL, Graft.LOCAL), (Removal.C1_ARCH,))
    assert (read.support, read.joints_prepared) == (Support.HALO, JointsPrepared.BOTH)
    assert (read.spacers, read.occipital_bone_left_mm, read.bmp) == (Spacers(right_mm=5.0), 20.0, False)
    assert (read.segments, read.includes_occiput, read.complete) == (2, True, True)


def test_what_a_plan_does_not_say_is_not_none(written: Written) -> None:
    (silent,) = read_plans(written(HEAD)).plans
    (saying,) = read_plans(written(HEAD + "graft = []\ndecompression = []\n")).plans
    assert (silent.graft, silent.removal, silent.support, silent.bmp) == (None, None, None, None)
    assert (saying.graft, saying.removal) == ((), ())


@pytest.mark.parametrize(
    ("text", "rule", "says"),
    [
        ('[[plan.anchor]]\nlevel = "C2"\nside = "right"\nkind = "pedicle_screws"\n', "unknown_word", "pedicle_screw"),
        (
            '[[plan.anchor]]\nlevel = "C2"\nside = "rigth"\nkind = "hook"\n',
            "unknown_word",
            "one of right, left, midline",
        ),
        ('[[plan.anchor]]\nlevel = "C2"\nkind = "hook"\n', "missing_key", "one of right, left, midline"),
        (SCREW.replace('"C2"', '"C4"'), "anchor_outside", "C4 right pedicle screw -> a level from C1 to C2"),
        (
            '[[plan.anchor]]\nlevel = "O"\nside = "midline"\nkind = "midline_screw"\n',
            "anchor_outside",
            "O midline screw -> a level from C1 to C2; this anchor is left out",
        ),
        (SCREW.replace('"C2"', '"C1"'), "kind_level", "a pedicle screw at C1 -> one of C2, C3"),
        (SCREW.replace('"right"', '"midline"'), "kind_side", "on side midline -> one of right, left"),
        (SCREW.replace("3.5", "-3.5"), "outside_hard", "-3.5 -> a number from 1 to 8 mm"),
        (SCREW.replace("3.5", "35"), "outside_hard", "35 -> a number from 1 to 8 mm"),
        (SCREW + "length_mm = 300\n", "outside_hard", "300 -> a number from 2 to 80 mm"),
        (SCREW.replace("diameter_mm", "diametre_mm"), "unknown_key", "diameter_mm (the nearest known name)"),
        (SCREW + SCREW, "anchor_twice", "C2 right pedicle screw a second time"),
    ],
)
def test_a_faulty_anchor_is_named_and_the_rest_stands(written: Written, text: str, rule: str, says: str) -> None:
    other = SCREW.replace('"right"', '"left"')
    held = read_plans(written(HEAD + other + text))
    assert set(found(held)) == {rule}
    assert says in found(held)[rule]
    assert held.plans[0].anchors[0] == Anchor(Level.C2, Side.LEFT, Kind.PEDICLE_SCREW, 3.5)
    assert not held.plans[0].complete


def test_two_midline_screws_are_no_mistake(written: Written) -> None:
    screw = '[[plan.anchor]]\nlevel = "O"\nside = "midline"\nkind = "midline_screw"\n'
    held = read_plans(written(HEAD.replace('"C1"', '"O"') + screw + screw))
    assert held.findings == ()
    assert len(held.plans[0].anchors) == 2


@pytest.mark.parametrize(
    ("text", "rule", "says"),
    [
        ('upper = "C3"\nlower = "C1"\nrods = 2\n', "level_order", "C3 as the highest, C1 as the lowest"),
        ('upper = "C1"\nlower = "C1"\nrods = 2\n', "level_order", "a highest level that lies above the lowest"),
        ('upper = "C0"\nlower = "C1"\nrods = 2\n', "unknown_word", "one of O, C1"),
        ('lower = "C1"\nrods = 2\n', "missing_key", "one of O, C1"),
    ],
)
def test_a_plan_without_readable_levels_is_left_out(written: Written, text: str, rule: str, says: str) -> None:
    held = read_plans(written(f'{HEAD}[[plan]]\nname = "B"\n{text}'))
    assert [read.name for read in held.plans] == ["A"]
    assert says in found(held)[rule]


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ('support = "hallo"\n', "unknown_word"),
        ('graft = ["bone"]\n', "unknown_word"),
        ('graft = "rib"\n', "wrong_type"),
        ('decompression = ["c3"]\n', "unknown_word"),
        ("spacer = 5\n", "wrong_type"),
        ("spacer = { right_mm = -5 }\n", "outside_hard"),
        ("spacer = { rigth_mm = 5 }\n", "unknown_key"),
        ("decompresion = []\n", "unknown_key"),
        ("connector = 1\n", "wrong_type"),
        ('joints_prepared = "some"\n', "unknown_word"),
    ],
)
def test_other_faults_of_a_plan_leave_it_incomplete(written: Written, text: str, rule: str) -> None:
    held = read_plans(written(HEAD + text))
    assert set(found(held)) == {rule}
    assert not held.plans[0].complete


@pytest.mark.parametrize(("rods", "rule"), [("2.5", "bad_value"), ("-1", "bad_value"), ("true", "bad_value")])
def test_rods_are_counted(written: Written, rods: str, rule: str) -> None:
    held = read_plans(written(HEAD.replace("rods = 2", f"rods = {rods}")))
    assert set(found(held)) == {rule}


def test_a_name_that_comes_twice_keeps_its_first_plan(written: Written) -> None:
    held = read_plans(written(HEAD + HEAD.removeprefix("format = 1\n").replace("rods = 2", "rods = 1")))
    assert [read.rods for read in held.plans] == [2]
    assert "plan_twice" in found(held)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "format = 1"),
        ("format = 2\n", "format = 1"),
        ("format = true\n", "format = 1"),
        ("format = 1\n", "at least one [[plan]]"),
        ("format = 1\nplan = 3\n", "a list of tables"),
        ('format = 1\n[[plan]]\nname = "A"\nupper = "C2"\nlower = "C1"\n', "at least one [[plan]]"),
        ("format = = 1\n", "a TOML file"),
    ],
)
def test_a_file_without_a_plan_is_refused(written: Written, text: str, says: str) -> None:
    with pytest.raises(PlanRefused) as refused:
        read_plans(written(text))
    assert says in str(refused.value)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PlanRefused, match="cannot be opened"):
        read_plans(tmp_path / "none.toml")


def test_decided_lines_belong_to_steps(written: Written) -> None:
    held = read_plans(written(HEAD.replace("format = 1\n", 'format = 1\n[decided]\nlevel = "x"\n')))
    assert "levels (the nearest known name)" in found(held)["unknown_key"]
    assert "wrong_type" in found(read_plans(written(HEAD.replace("format = 1", 'format = 1\ndecided = "x"'))))


def test_the_example_of_the_documents_is_read() -> None:
    text = (Path(__file__).parents[3] / "docs" / "planning.md").read_text(encoding="utf-8")
    plans, limits = re.findall(r"```toml\n(.*?)```", text, flags=re.DOTALL)
    held = plans_of(tomllib.loads(plans))
    assert held.findings == ()
    assert held.plans[0].spacers == Spacers(5.0, 6.0)
    assert set(tomllib.loads(limits)["limit"]) <= set(shipped_limits().by_name)
    assert all(f"`{kind.value}`" in text for kind in Kind)
    assert all(graft.value in text for graft in Graft)


def test_a_parsed_document_of_another_format_is_refused() -> None:
    with pytest.raises(PlanRefused, match="format = 1"):
        plans_of({"format": 3})


def test_the_closed_choices_are_the_dictionarys() -> None:
    held = dictionary().variables
    assert [level.value for level in Level] == list(held["upper_level"].codes)
    assert {support.value for support in Support} == set(held["planned_support"].codes)
    assert {removal.value for removal in Removal} == set(held["planned_decompression"].codes)
    assert {side.value for side in Side} == set(held["screw_side"].codes)
    assert {prepared.value for prepared in JointsPrepared} == set(held["joint_prepared"].codes)


def test_lengths_that_can_be_true_are_the_dictionarys() -> None:
    held = dictionary().variables
    assert held["screw_diam_mm"].hard == DIAMETER_MM
    assert held["screw_len_mm"].hard == LENGTH_MM
    assert held["occipital_bone_left_mm"].hard == BONE_LEFT_MM
    assert held["spacer_height_right_mm"].hard == (0.0, SPACER_MM[1])
    assert SPACER_MM[0] > 0.0


def test_levels_are_counted_from_the_occiput() -> None:
    assert [Level.O.index, Level.C1.index, Level.C7.index, Level.T4.index] == [0, 1, 7, 11]
    assert plan(Level.O, Level.C2).segments == 2
    assert plan(Level.C1, Level.C2).segments == 1


class TestStock:
    def test_the_shipped_example(self) -> None:
        held = read_stock()
        assert [screw.diameter_mm for screw in held.screws_for(Kind.PEDICLE_SCREW)] == [2.7, 3.0, 3.5, 4.0]
        assert [screw.diameter_mm for screw in held.screws_for(Kind.MIDLINE_SCREW)] == [4.5]
        assert held.tallest_spacer_mm == 7.0

    def test_a_file_of_ones_own(self, written: Written) -> None:
        text = 'format = 1\nname = "ours"\n[[screw]]\ndiameter_mm = 3\nlengths_mm = [12, 10, 12]\n'
        held = read_stock(written(text))
        assert held.screws[0].lengths_mm == (10.0, 12.0)
        assert (held.tallest_spacer_mm, held.hooks) == (None, False)

    @pytest.mark.parametrize(
        ("text", "rule"),
        [
            ('format = 1\nname = "x"\n', "no_screws"),
            ('format = 1\nname = "x"\n[[screw]]\nlengths_mm = [10]\n', "missing_key"),
            ('format = 1\nname = "x"\n[[screw]]\ndiameter_mm = -3\nlengths_mm = [10]\n', "wrong_type"),
            ('format = 1\nname = "x"\n[[screw]]\ndiameter_mm = 3\nlengths_mm = []\n', "wrong_type"),
            ('format = 1\nname = "x"\n[[screw]]\ndiameter_mm = 3\nlengths_mm = [10, "a"]\n', "wrong_type"),
            ('format = 1\nname = "x"\nspacers = [4]\n[[screw]]\ndiameter_mm = 3\nlengths_mm = [10]\n', "unknown_key"),
            ("format = 1\n[[screw]]\ndiameter_mm = 3\nlengths_mm = [10]\n", "missing_key"),
        ],
    )
    def test_a_faulty_file_is_refused(self, written: Written, text: str, rule: str) -> None:
        with pytest.raises(PlanRefused) as refused:
            read_stock(written(text))
        assert rule in [finding.rule for finding in refused.value.findings]

    def test_a_diameter_given_twice_is_refused(self, written: Written) -> None:
        screw = "[[screw]]\ndiameter_mm = 3\nlengths_mm = [10]\n"
        with pytest.raises(PlanRefused, match="3 mm for the spine a second time"):
            read_stock(written(f'format = 1\nname = "x"\n{screw}{screw}'))

    def test_what_a_plan_asks_for_and_nobody_has(self) -> None:
        long = Anchor(Level.C2, Side.RIGHT, Kind.PEDICLE_SCREW, 3.5, 60.0)
        odd = Anchor(Level.C2, Side.LEFT, Kind.PEDICLE_SCREW, 3.2, 20.0)
        held = Plan("A", "", Level.C1, Level.C2, 2, False, (long, odd), spacers=Spacers(right_mm=9.0))
        told = {finding.rule: str(finding) for finding in check_stock(held, read_stock())}
        assert "60 mm long; accepted: at most 40 mm in stock" in told["longer_than_stocked"]
        assert "3.2 mm across; accepted: in stock: 2.7 mm, 3 mm, 3.5 mm and 4 mm" in told["diameter_not_stocked"]
        assert "9 mm; accepted: in stock: 4 mm, 5 mm, 6 mm and 7 mm" in told["spacer_not_stocked"]

    def test_what_the_shelf_lacks_is_named(self, written: Written) -> None:
        bare = read_stock(written('format = 1\nname = "x"\n[[screw]]\ndiameter_mm = 3.5\nlengths_mm = [20]\n'))
        hook = anchor(Level.C2, Side.RIGHT, Kind.HOOK)
        wire = anchor(Level.C1, Side.MIDLINE, Kind.WIRE)
        held = plan(Level.C1, Level.C2, hook, wire, connector=True)
        assert [finding.column for finding in check_stock(held, bare)] == [
            "plan A, hooks",
            "plan A, wires or bands",
            "plan A, a connector",
        ]
        assert check_stock(held, read_stock()) == ()


class TestLimits:
    def test_every_shipped_limit_has_a_source_and_says_how_sure_it_is(self) -> None:
        for limit in shipped_limits().by_name.values():
            assert limit.source
            assert limit.text
            assert not limit.local

    def test_the_shipped_rule_of_the_artery_is_the_published_one(self) -> None:
        """Yeom et al., Spine J 2013;13:775-785: isthmus at most 5 mm, or internal height at most 2 mm."""
        held = shipped_limits()
        assert (held.value("isthmus_mm"), held.value("internal_height_mm")) == (ISTHMUS_MM, INTERNAL_MM) == (5.0, 2.0)

    def test_a_department_changes_what_it_sees_otherwise(self, written: Written) -> None:
        held = read_limits(written('format = 1\n[limit.keel_mm]\nvalue = 7\nsource = "our series"\n'))
        assert (held.value("keel_mm"), held["keel_mm"].source, held["keel_mm"].unit) == (7.0, "our series", "mm")
        assert [limit.name for limit in held.local] == ["keel_mm"]
        assert held.value("margin_fits_mm") == 0.5
        assert read_limits().local == ()

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ('[limit.keel]\nvalue = 7\nsource = "x"\n', "keel_mm (the nearest known name)"),
            ('[limit.keel_mm]\nvalue = -1\nsource = "x"\n', "a number from 0 to 1000"),
            ('[limit.keel_mm]\nsource = "x"\n', "a number from 0 to 1000"),
            ("[limit.keel_mm]\nvalue = 7\n", "a text"),
            ('[limit.keel_mm]\nvalue = 7\nsource = "x"\nconfidence = "sure"\n', "one of H, M, L"),
        ],
    )
    def test_a_faulty_file_is_refused(self, written: Written, text: str, says: str) -> None:
        with pytest.raises(PlanRefused) as refused:
            read_limits(written(f"format = 1\n{text}"))
        assert says in str(refused.value)


class TestCorridors:
    HEAD = "case_id,corridor_site,corridor_side,corridor_level,corridor_mm,corridor_height_mm,corridor_length_mm\n"

    def test_rows_of_this_child_are_read(self, written: Written) -> None:
        rows = "X-001,subaxial_lateral_mass,right,C3,6.4,,12\nX-002,c2_pedicle,left,C2,4,,\nX-001,hook,left,C2,,,\n"
        held, findings = read_corridors(written(self.HEAD + rows, "c.csv"), dictionary(), case_id="X-001")
        assert findings == ()
        assert held == (
            Corridor(Kind.LATERAL_MASS_SCREW, Level.C3, Side.RIGHT, 6.4, None, 12.0),
            Corridor(Kind.HOOK, Level.C2, Side.LEFT),
        )

    def test_no_bone_is_not_unmeasured(self, written: Written) -> None:
        rows = "X-001,condyle,left,O,not_applicable,,\n"
        held, _ = read_corridors(written(self.HEAD + rows, "c.csv"), dictionary(), case_id="X-001")
        assert held[0].no_bone

    @pytest.mark.parametrize(
        ("row", "says"),
        [
            (
                "X-001,c2_pedicle,right,C2,-4,,",
                "row 2, column corridor_mm: found -4; accepted: a number from 0 to 40 mm",
            ),
            ("X-001,pedicle,right,C2,4,,", "column corridor_site: found pedicle"),
            ("X-001,condyle,midline,O,9,,", "found condyle screw at O midline; accepted: level O, side right, left"),
            ("X-001,c2_pedicle,right,O,4,,", "found pedicle screw at O right"),
            ("X-001,,right,C2,4,,", "a path without site, side or level"),
        ],
    )
    def test_a_faulty_row_is_named(self, written: Written, row: str, says: str) -> None:
        good = "X-001,c2_pedicle,left,C2,4,5,\n"
        held, findings = read_corridors(written(f"{self.HEAD}{row}\n{good}", "c.csv"), dictionary(), case_id="X-001")
        assert says in str(findings[0])
        assert held[-1] == Corridor(Kind.PEDICLE_SCREW, Level.C2, Side.LEFT, 4.0, 5.0)

    def test_an_unknown_column_is_named_once(self, written: Written) -> None:
        head = self.HEAD.replace("corridor_length_mm", "corridor_lenght_mm")
        rows = "X-001,c2_pedicle,left,C2,4,5,9\nX-001,c2_pedicle,right,C2,4,5,9\n"
        _, findings = read_corridors(written(head + rows, "c.csv"), dictionary(), case_id="X-001")
        assert len(findings) == 1
        assert "corridor_length_mm (the nearest known name)" in str(findings[0])

    def test_a_table_of_something_else_is_refused(self, written: Written) -> None:
        with pytest.raises(TableRefused, match="no column corridor_site or corridor_side or corridor_level"):
            read_corridors(written("a,b\n1,2\n", "c.csv"), dictionary(), case_id="X-001")
