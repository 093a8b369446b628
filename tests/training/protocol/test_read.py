"""A sound protocol is read as it stands; an unsound one is refused with every fault at once, each with its place."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from riskmodel.derive import Derivation
from riskmodel.dictionary.model import Moment
from riskmodel.eligibility import Requirement
from riskmodel.errors import Finding, ProtocolRefused
from training import protocol
from training.protocol import Factor, Form, FromRows, Predictor

SOUND = """
format = 1
name = "sound"
title = "A sound protocol"
dictionary = "cvj"
released = 2026-11-25
review_by = 2028-11-25
moment = "plan"
seed = 7

[cohort]
key = "case_id"
only = [{ variable = "prior_cvj_surgery", at_most = 1 }, { variable = "sex", one_of = ["female"] }]
centre = "centre_id"
year = "operation_year"

[outcome]
name = "revision"
horizon_months = 24
visit_window_months = 2
competes = ["planned_removal"]

[[derive]]
name = "includes_occiput"
operation = "equals"
of = ["upper_level"]
level = "O"

[[predictor]]
variable = "age_years"
form = "log2"
clip = [1.5, 18]

[[predictor]]
variable = "condition"
form = "levels"
pooled_in = "biology_group"
reference = "non_syndromic"

[[predictor]]
variable = "adi_mm"
form = "spline"
clip = [0, 12]
knots = [1, 3, 6, 10]
states = ["not_measurable"]
centre = 3
scale = 2

[[predictor]]
variable = "includes_occiput"
form = "yes_no"

[[predictor]]
variable = "operation_year"
form = "linear"
score_at = "last"

[[interaction]]
of = ["condition=down", "not includes_occiput"]

[fit]
candidates = ["rate", "penalised"]
choose = "one_standard_error"
scale = 0.4
priors = "published.toml"
centre_sd = 0.4

[replay]
times = 20

[report]
thresholds = [0.05, 0.30]
subgroups = ["sex"]

[gates]
like_cases = [["biology_group", "includes_occiput"], ["biology_group"]]
like_cases_at_least = 12
"""

Refuse = Callable[..., tuple[Finding, ...]]


@pytest.fixture
def refuse(tmp_path: Path) -> Refuse:
    """The findings on the sound protocol with some of its text replaced (or with text added at the end)."""

    def read(*changes: tuple[str, str], after: str = "") -> tuple[Finding, ...]:
        text = SOUND
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        path = tmp_path / "unsound.toml"
        path.write_text(text + after, encoding="utf-8")
        with pytest.raises(ProtocolRefused) as refused:
            protocol.read(path)
        return refused.value.findings

    return read


def test_a_sound_protocol_is_read_as_it_stands(tmp_path: Path) -> None:
    path = tmp_path / "sound.toml"
    path.write_text(SOUND, encoding="utf-8")

    held = protocol.read(path)

    assert (held.name, held.released, held.review_by) == ("sound", date(2026, 11, 25), date(2028, 11, 25))
    assert (held.moment, held.seed, held.replays, held.demonstration) == (Moment.PLAN, 7, 20, False)
    assert held.cohort.only == (Requirement("prior_cvj_surgery", at_most=1), Requirement("sex", one_of=("female",)))
    assert held.outcome.competes == ("planned_removal",)
    assert held.derive == (Derivation("includes_occiput", "equals", ("upper_level",), "O"),)
    assert held.predictors[0] == Predictor("age_years", Form.LOG2, clip=(1.5, 18))
    assert held.predictors[2].knots == (1, 3, 6, 10)
    assert held.interactions[0].of == (Factor("condition", "down"), Factor("includes_occiput", negated=True))
    assert held.fit.scale == 0.4
    assert held.gates.like_cases == (("biology_group", "includes_occiput"), ("biology_group",))
    assert held.priors is not None
    assert held.priors["outcome"] == "fixation_failure"


def test_the_document_is_the_file_in_values_that_json_knows(tmp_path: Path) -> None:
    path = tmp_path / "sound.toml"
    path.write_text(SOUND, encoding="utf-8")

    held = protocol.read(path)

    assert json.loads(json.dumps(held.document)) == held.document
    assert held.document["released"] == "2026-11-25"
    assert held.document["predictor"][0]["variable"] == "age_years"
    json.dumps(held.priors)


@pytest.mark.parametrize("name", ["revision_24m", "fixation_failure_24m"])
@pytest.mark.parametrize("length", ["", "_long"])
def test_the_shipped_protocols_are_sound(name: str, length: str) -> None:
    held = protocol.read(name + length)

    assert held.name == name + length
    assert held.demonstration
    assert held.outcome.horizon_months == 24
    assert held.outcome.visit_window_months == 2
    assert len(held.predictors) == (15 if length else 8)
    assert held.interactions[0].of == (Factor("condition", "down"), Factor("includes_occiput", negated=True))


def test_the_open_kyphosis_protocol_is_sound() -> None:
    held = protocol.read(Path(__file__).parents[2] / "reference" / "kyphosis" / "kyphosis.toml")

    assert (held.outcome.column, held.outcome.event_value, held.outcome.horizon_months) == ("Kyphosis", "present", None)
    assert [predictor.variable for predictor in held.predictors] == ["Age", "Number", "Start"]
    assert held.fit.scale == "flat"


AGE = '[[predictor]]\nvariable = "age_years"\nform = "log2"\nclip = [1.5, 18]\n'
FAULTS = {
    "unknown key": (("seed = 7", "sede = 7"), None, "the unknown key sede", "seed (the nearest known name)"),
    "unknown key of a table": (("clip = [1.5, 18]", "clap = [1.5, 18]"), "predictor[1]", "clap", "clip"),
    "wrong format": (("format = 1", "format = 2"), "format", "2", "format = 1"),
    "bad name": (('name = "sound"', 'name = "../sound"'), "name", "../sound", "stem of file names"),
    "wrong type": (("seed = 7", 'seed = "7"'), "seed", "7", "a whole number of at least 0"),
    "missing key": (('title = "A sound protocol"\n', ""), "title", "nothing", "a text"),
    "quoted date": (("released = 2026-11-25", 'released = "2026-11-25"'), "released", "2026-11-25", "without quotes"),
    "review before release": (("2028-11-25", "2026-11-24"), "review_by", "2026-11-24", "after the release"),
    "unknown dictionary": (('dictionary = "cvj"', 'dictionary = "cvi"'), None, "no such file", "cvj"),
    "unknown moment": (('moment = "plan"', 'moment = "planning"'), "moment", "planning", "clinic, imaging, plan"),
    "misspelt variable": (
        ('"age_years"', '"age_yaers"'),
        "predictor[1].variable",
        "age_yaers",
        "age_years (the nearest known name)",
    ),
    "known too late": (
        (AGE, '[[predictor]]\nvariable = "done_construct_kind"\nform = "levels"\n'),
        "predictor[1].variable",
        "done_construct_kind, known only from theatre on",
        "at plan, such as construct_kind",
    ),
    "an event predicts": (
        (AGE, '[[predictor]]\nvariable = "revision"\nform = "levels"\n'),
        "predictor[1].variable",
        "revision, whose role is event",
        "role is predictor",
    ),
    "twice": (
        ('variable = "operation_year"\nform = "linear"\nscore_at = "last"', 'variable = "age_years"\nform = "linear"'),
        "predictor",
        "age_years 2 times",
        "once",
    ),
    "form of another kind": (
        ('"includes_occiput"\nform = "yes_no"', '"includes_occiput"\nform = "linear"'),
        "predictor[4].form",
        "linear for includes_occiput, a yes_no",
        "yes_no",
    ),
    "text cannot predict": (
        (AGE, '[[predictor]]\nvariable = "planned_decompression"\nform = "levels"\n'),
        "predictor[1].form",
        "a flags",
        "no form",
    ),
    "option of another form": (
        ("clip = [1.5, 18]", "clip = [1.5, 18]\nknots = [2, 4, 8]"),
        "predictor[1].knots",
        "knots with log2",
        "with spline only",
    ),
    "log of nothing": (("clip = [1.5, 18]\n", ""), "predictor[1].clip", "a lowest value of 0", "low above 0"),
    "log of a clip at 0": (
        ("clip = [1.5, 18]", "clip = [0, 18]"),
        "predictor[1].clip",
        "a lowest value of 0",
        "low above 0",
    ),
    "clip turned round": (("clip = [1.5, 18]", "clip = [18, 1.5]"), "predictor[1].clip", "[18, 1.5]", "low < high"),
    "log about 0": (
        ("clip = [1.5, 18]", "clip = [1.5, 18]\ncentre = 0"),
        "predictor[1].centre",
        "0",
        "above 0 with log2",
    ),
    "scale of 0": (("scale = 2", "scale = 0"), "predictor[3].scale", "0", "above 0"),
    "unknown state": (
        ('states = ["not_measurable"]', 'states = ["not_tested"]'),
        "predictor[3].states",
        "not_tested",
        "not_measurable",
    ),
    "knots that fall": (
        ("knots = [1, 3, 6, 10]", "knots = [1, 6, 3, 10]"),
        "predictor[3].knots",
        "1, 6, 3, 10",
        "each above",
    ),
    "two knots": (("knots = [1, 3, 6, 10]", "knots = [1, 3]"), "predictor[3].knots", "1, 3", "at least 3 knots"),
    "knots outside": (("knots = [1, 3, 6, 10]", "knots = [1, 3, 14]"), "predictor[3].knots", "from 1 to 14", "0 to 12"),
    "unknown group": (
        ('pooled_in = "biology_group"', 'pooled_in = "sex"'),
        "predictor[2].pooled_in",
        "sex",
        "biology_group",
    ),
    "unknown reference": (
        ('"non_syndromic"', '"non_syndromal"'),
        "predictor[2].reference",
        "non_syndromal",
        "non_syndromic",
    ),
    "another era": (('score_at = "last"', 'score_at = "first"'), "predictor[5].score_at", "first", '"last"'),
    "unknown rows": (
        ('score_at = "last"', 'from = { table = "measure" }'),
        "predictor[5].from.table",
        "measure",
        "measures",
    ),
    "unknown factor": (('"condition=down"', '"conditoin=down"'), "interaction[1].of", "conditoin", "condition"),
    "unknown level": (('"condition=down"', '"condition=dwon"'), "interaction[1].of", "dwon", "down"),
    "level left out": (('"condition=down"', '"condition"'), "interaction[1].of", "without a level", "condition=LEVEL"),
    "level of a yes_no": (
        ('"not includes_occiput"', '"includes_occiput=yes"'),
        "interaction[1].of",
        "a yes_no",
        "alone",
    ),
    "not a yes_no": (
        ('"not includes_occiput"', '"not age_years"'),
        "interaction[1].of",
        "not age_years",
        "before a yes_no",
    ),
    "a deed in a product": (
        ('"not includes_occiput"', '"done_construct_kind=rigid"'),
        "interaction[1].of",
        "from theatre on",
        "construct_kind",
    ),
    "one factor": (
        ('of = ["condition=down", "not includes_occiput"]', 'of = ["condition=down"]'),
        "interaction[1].of",
        "1 different factors",
        "at least 2",
    ),
    "unknown outcome": (('name = "revision"', 'name = "revisions"'), "outcome.name", "revisions", "revision"),
    "no horizon": (("horizon_months = 24\n", ""), "outcome.horizon_months", "nothing", "months above 0"),
    "horizon of 0": (("horizon_months = 24", "horizon_months = 0"), "outcome.horizon_months", "0", "above 0"),
    "wide window": (
        ("visit_window_months = 2", "visit_window_months = 24"),
        "outcome.visit_window_months",
        "24",
        "under",
    ),
    "unknown end": (
        ('["planned_removal"]', '["planed_removal"]'),
        "outcome.competes",
        "planed_removal",
        "planned_removal",
    ),
    "competes with itself": (
        ('["planned_removal"]', '["return_construct"]'),
        "outcome.competes",
        "return_construct",
        "no part of the outcome itself",
    ),
    "two outcomes": (
        ('competes = ["planned_removal"]', 'column = "sex"\nevent_value = "male"'),
        "outcome.name",
        "name beside column",
        "either",
    ),
    "unknown operation": (('"equals"', '"equal"'), "derive[1].operation", "equal", "equals"),
    "unknown source": (('["upper_level"]', '["uper_level"]'), "derive[1].of", "uper_level", "upper_level"),
    "centre that is none": (
        ('centre = "centre_id"', 'centre = "sex"'),
        "cohort.centre",
        "role is predictor",
        "role is centre",
    ),
    "year that is none": (('year = "operation_year"', 'year = "age_years"'), "cohort.year", "age_years", "integer"),
    "key that is none": (('key = "case_id"', 'key = "sex"'), "cohort.key", "sex", "role is key"),
    "condition on nothing": (
        ('"prior_cvj_surgery", at_most = 1', '"prior_cvj_surgery"'),
        "cohort.only[1]",
        "no condition",
        "at_least",
    ),
    "limit on words": (
        ('"sex", one_of = ["female"]', '"sex", at_least = 1'),
        "cohort.only[2]",
        "a limit on sex",
        "one_of",
    ),
    "unknown word": (('one_of = ["female"]', 'one_of = ["femal"]'), "cohort.only[2].one_of", "femal", "female"),
    "empty range": (
        ("at_most = 1 }", "at_most = 1, at_least = 2 }"),
        "cohort.only[1]",
        "at least 2, at most 1",
        "holds a value",
    ),
    "unknown candidate": (
        ('["rate", "penalised"]', '["rate", "penalized"]'),
        "fit.candidates",
        "penalized",
        "penalised",
    ),
    "chosen from elsewhere": (
        ('"one_standard_error"', '"firth"'),
        "fit.choose",
        "firth",
        "rate, penalised or one_standard_error",
    ),
    "chosen though it gives no number": (
        ('["rate", "penalised"]\nchoose = "one_standard_error"', '["rate", "penalised", "trees"]\nchoose = "trees"'),
        "fit.choose",
        "trees, which is compared and reported",
        "rate, penalised or one_standard_error",
    ),
    "nothing to ship": (
        ('["rate", "penalised"]', '["trees", "bias_reduced"]'),
        "fit.candidates",
        "only trees, bias_reduced",
        "rate or penalised among them",
    ),
    "unknown scale": (("scale = 0.4", 'scale = "evident"'), "fit.scale", "evident", '"evidence", "flat", or a number'),
    "flat with priors": (("scale = 0.4", 'scale = "flat"'), "fit.scale", "flat beside priors", "without priors"),
    "no such priors": (('"published.toml"', '"publisht.toml"'), None, "no such file", "published.toml"),
    "centres without a centre": (('centre = "centre_id"\n', ""), "fit.centre_sd", "no centre", "centre ="),
    "no replay": (("times = 20", "times = 0"), "replay.times", "0", "at least 20"),
    "thresholds past 1": (("[0.05, 0.30]", "[0.05, 1.30]"), "report.thresholds", "0.05 to 1.3", "probabilities"),
    "subgroup of a number": (
        ('subgroups = ["sex"]', 'subgroups = ["age_years"]'),
        "report.subgroups",
        "a number",
        "level or yes_no",
    ),
    "like cases of an event": (
        ('["biology_group"]]', '["revision"]]'),
        "gates.like_cases",
        "revision",
        "known at plan",
    ),
    "like cases unlisted": (
        ('like_cases = [["biology_group", "includes_occiput"], ["biology_group"]]', 'like_cases = ["sex"]'),
        "gates.like_cases",
        "sex",
        "a list of lists",
    ),
}


@pytest.mark.parametrize("fault", FAULTS, ids=[name.replace(" ", "-") for name in FAULTS])
def test_each_fault_is_found_at_its_place_with_what_would_be_accepted(fault: str, refuse: Refuse) -> None:
    change, place, found, accepted = FAULTS[fault]

    findings = refuse(change)

    matching = [held for held in findings if held.column == (place or held.column) and found in held.found]
    assert matching, findings
    assert accepted in matching[0].accepted
    if place is not None:
        assert matching[0].sheet == "unsound.toml"


def test_all_faults_are_found_at_once(refuse: Refuse) -> None:
    findings = refuse(
        ("seed = 7", "sede = 7"), ('"age_years"', '"age_yaers"'), ('"revision"', '"revison"'), ('"equals"', '"equal"')
    )

    places = {finding.column for finding in findings}
    assert {None, "predictor[1].variable", "outcome.name", "derive[1].operation"} <= places


def test_a_protocol_needs_a_predictor_unless_it_asks_for_the_rate_only(tmp_path: Path, refuse: Refuse) -> None:
    text = SOUND[: SOUND.index("[[derive]]")]
    path = tmp_path / "bare.toml"
    path.write_text(text + '[fit]\ncandidates = ["rate"]\nchoose = "rate"\n', encoding="utf-8")
    assert protocol.read(path).predictors == ()

    path.write_text(text, encoding="utf-8")
    with pytest.raises(ProtocolRefused, match="no predictor; accepted: at least one"):
        protocol.read(path)


def test_rows_of_another_table_are_told_with_their_options(tmp_path: Path) -> None:
    rows = 'from = { table = "measures", when = "last before operation", modality = "CT", position = "neutral" }'
    path = tmp_path / "rows.toml"
    path.write_text(SOUND.replace('score_at = "last"', rows), encoding="utf-8")

    held = protocol.read(path).predictors[-1].from_rows

    assert held == FromRows("measures", {"when": "last before operation", "modality": "CT", "position": "neutral"})


def test_a_dictionary_that_is_refused_refuses_the_protocol(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text('format = 1\nname = "own"\nversion = "1"\n[variable.x]\nkind = "numbr"\n')
    path = tmp_path / "p.toml"
    path.write_text(SOUND.replace('"cvj"', '"own.toml"'), encoding="utf-8")

    with pytest.raises(ProtocolRefused, match=r"own\.toml, column variable\.x\.kind: found numbr"):
        protocol.read(path)


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"format = ", "no TOML"), (b"\xff\xfe", "not UTF-8"), (b"", "nothing; accepted: format = 1")],
)
def test_a_file_that_is_no_protocol_is_refused(tmp_path: Path, content: bytes, says: str) -> None:
    path = tmp_path / "p.toml"
    path.write_bytes(content)

    with pytest.raises(ProtocolRefused, match=says):
        protocol.read(path)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ProtocolRefused, match="cannot be opened: No such file"):
        protocol.read(tmp_path / "nowhere.toml")
