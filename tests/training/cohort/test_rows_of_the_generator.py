"""The whole way with further tables: the generator writes them, a protocol folds them, a model is fitted and asked."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from click.testing import CliRunner

import riskmodel
from riskmodel import bundle as bundles
from synthetic_cohort import norms
from synthetic_cohort.__main__ import main as generate
from training import cohort, protocol
from training.cli.check import command as check
from training.cohort import Cohort
from training.fitting import fit
from training.protocol import FromRows
from training.protocol.files import SHIPPED_PROTOCOLS

FROM = """from = { table = "measures", when = "last before operation", modality = "CT", position = "neutral", """
ADI = '[[predictor]]\nvariable = "adi_mm"\nform = "linear"\nclip = [0, 12]\n' + FROM + 'readers = "mean" }\n'
MARGIN = '[[predictor]]\nvariable = "min_margin_mm"\nform = "linear"\nfrom = { table = "construct" }\n'


@pytest.fixture(scope="module")
def tables(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """360 invented children with every further table."""
    path = tmp_path_factory.mktemp("generated") / "all"
    made = CliRunner().invoke(generate, ["--with", "all", "--out", str(path)])
    assert made.exit_code == 0, made.output
    return path


@pytest.fixture(scope="module")
def declared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The short protocol with two predictors from further tables and the outcome from events."""
    text = (SHIPPED_PROTOCOLS / "fixation_failure_24m.toml").read_text(encoding="utf-8")
    text = text.replace(
        'name = "fixation_failure"\n', 'name = "fixation_failure"\nfrom = { table = "events", without = "no" }\n'
    )
    text = text.replace("[[interaction]]", ADI + MARGIN + "[[interaction]]", 1)
    path = tmp_path_factory.mktemp("declared") / "rows.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def held(tables: Path, declared: Path) -> Cohort:
    return cohort.read(tables, protocol.read(declared))


def test_measurements_fold_to_the_mean_of_the_readers(tables: Path, held: Cohort) -> None:
    """The first reader of the table is the reader of the children's own column; a second reads a quarter of them."""
    plain = cohort.read(tables, protocol.read("fixation_failure_24m"))
    one, other = held.cases["adi_mm"], plain.cases["adi_mm"]
    same = one.present & (np.abs(one.values - other.values) < 1e-9)

    assert (one.present | ~other.present).all()
    assert 0.7 < np.count_nonzero(same) / np.count_nonzero(one.present & other.present) < 0.9
    assert held.readers["adi_mm"].sd == pytest.approx(norms.ADI_READER_SD_MM, rel=0.25)  # 76 pairs: SE 8%


def test_events_make_the_course_that_the_core_columns_tell(tables: Path, held: Cohort) -> None:
    plain = cohort.read(tables, protocol.read("fixation_failure_24m"))

    assert held.course.status.tolist() == plain.course.status.tolist()
    np.testing.assert_allclose(held.course.timed, plain.course.timed)
    assert sum(held.made_of.values()) == np.count_nonzero(held.course.status == cohort.Status.EVENT)


def test_counted_screws_are_the_anchors_of_rigid_constructs_from_c1_to_c2(tables: Path) -> None:
    """Of other constructs the generator's table of screws holds only the part at C1 and C2."""
    asked = protocol.read("fixation_failure_24m_long")
    rule = FromRows("screws", MappingProxyType({"fold": "count", "end": "weaker", "without": "none"}))
    counted = [
        replace(each, variable="weaker_end_half_anchors", from_rows=rule)
        if each.variable == "weaker_end_anchors"
        else each
        for each in asked.predictors
    ]
    text = (tables / "construct.csv").read_text(encoding="utf-8")
    assert "weaker_end_half_anchors" not in text  # so that nothing stands against the count

    cases = cohort.read(tables, replace(asked, predictors=tuple(counted))).cases

    codes = asked.dictionary.variables
    rigid = cases["construct_kind"].values == codes["construct_kind"].codes.index("rigid")
    ends = [
        cases[name].values == codes[name].codes.index(level)
        for name, level in (("upper_level", "C1"), ("lower_level", "C2"))
    ]
    of = rigid & ends[0] & ends[1] & cases["weaker_end_anchors"].present
    assert np.count_nonzero(of) > 50
    assert cases["weaker_end_half_anchors"].values[of].tolist() == cases["weaker_end_anchors"].values[of].tolist()


def test_check_tells_how_far_readers_lie_apart(tables: Path, declared: Path) -> None:
    told = CliRunner().invoke(check, [str(tables), "--protocol", str(declared)])

    assert told.exit_code == 0, told.output
    assert "readers of adi_mm: 76 children read by two or more, SD of one reading 0.6 mm" in told.output


def test_a_model_with_predictors_from_rows_is_fitted_and_asked_by_their_names(
    held: Cohort, declared: Path, tmp_path: Path
) -> None:
    path = tmp_path / "fixation_failure_24m.riskmodel.json"
    bundles.write(fit(held, protocol.read(declared), times=2).bundle, path)

    scorer = riskmodel.load(path)
    case = {"age_years": 8.0, "condition": "down", "adi_mm": 7.0, "min_margin_mm": 0.8, "upper_level": "C1"}
    case |= {"construct_kind": "rigid", "prior_cvj_surgery": 0, "reduces": "awake", "graft_kind": "structural_own"}
    wide, narrow = (scorer.score({**case, "adi_mm": value}, on=date(2026, 12, 1)) for value in (10.0, 2.0))

    assert {"adi_mm", "min_margin_mm"} <= {name for each in wide.contributions for name in each.variables}
    assert wide.probability != narrow.probability
