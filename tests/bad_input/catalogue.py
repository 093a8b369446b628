"""Bad files of every kind that the program reads: an honest file, what was spoilt in it, and how it is read."""

import hashlib
import json
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr
from functools import cache
from io import StringIO
from pathlib import Path
from typing import Any

from riskmodel import bundle as bundles
from riskmodel import cases, plans
from riskmodel import dictionary as dictionaries
from riskmodel.bundle.canonical import canonical
from riskmodel.cli import commands
from riskmodel.cli.status import run
from riskmodel.errors import RiskmodelError
from riskmodel.plans.files import SHIPPED
from riskmodel.web.kept import Store
from tests.bad_input.kinds import Bad, Kind, Reader, Spoil, no
from tests.packaging import GOLDEN
from tests.reference import KYPHOSIS
from tests.training.cohort import further
from tests.training.cohort.children import Columns, children, write
from training import cohort as cohorts
from training import priors
from training import protocol as protocols
from training.registry import mapping
from training.sharing import files as shares
from training.sharing.secrets import read_secrets

DEMONSTRATION = Path(__file__).parents[2] / "synthetic_cohort" / "demonstration"


@cache
def catalogue() -> tuple[Bad, ...]:
    """Every bad file."""
    tables = (_dictionaries, _protocols, _priors, _cohorts, _further, _maps, _cases, _plans, _shelves, _limits)
    return tuple(bad for part in (*tables, _corridors, _bundles, _shares, _secrets, _kept, _options) for bad in part())


def _text(path: Path) -> str:
    return path.read_text("utf-8")


def _dictionaries() -> Iterator[Bad]:
    kind = Kind(
        "dictionary", "own.toml", _text(KYPHOSIS / "kyphosis_dictionary.toml"), lambda p: no(dictionaries.read(p))
    )
    yield kind.absent()
    yield kind.raw("an empty file", "")
    yield kind.raw("no TOML", "[variable.Age\n")
    yield kind.raw("not UTF-8", "label = 'Größe'".encode("latin-1"))
    yield kind.but("another format", "format = 1", "format = 2")
    yield kind.but("an unknown kind", 'kind = "integer"', 'kind = "whole"')
    yield kind.but("a hard range the wrong way round", "hard = [0, 216]", "hard = [216, 0]")
    yield kind.but("a soft range outside the hard one", "soft = [1, 210]", "soft = [1, 300]")
    yield kind.but("an unknown key", "resolution = 1", "resolutoin = 1")
    yield kind.but("a level without a code", '{ code = "absent", label = "absent" }', '{ label = "absent" }')


def _protocols() -> Iterator[Bad]:
    words = (KYPHOSIS / "kyphosis_dictionary.toml").as_posix()
    honest = _text(KYPHOSIS / "kyphosis.toml").replace("kyphosis_dictionary.toml", words)
    kind = Kind("protocol", "own.toml", honest, lambda p: no(protocols.read(str(p))))
    yield kind.absent()
    yield kind.but("another format", "format = 1", 'format = "1"')
    yield kind.but("a date as a word", "released = 2026-11-25", 'released = "soon"')
    yield kind.but("reviewed before released", "review_by = 2028-11-25", "review_by = 2020-11-25")
    yield kind.but("an unknown moment", 'moment = "plan"', 'moment = "later"')
    yield kind.but("an unknown predictor", 'variable = "Start"', 'variable = "Strat"')
    yield kind.but("a predictor twice", 'variable = "Start"', 'variable = "Age"')
    yield kind.but("too few replays", "times = 500", "times = 3")
    yield kind.but("an event value that is none", 'event_value = "present"', 'event_value = "yes"')
    yield kind.but("no candidate", 'candidates = ["rate", "penalised"]', "candidates = []")
    yield kind.and_then("a table that nobody knows", "\n[speed]\nfast = true\n")


def _priors() -> Iterator[Bad]:
    honest = (
        'format = 1\n[[prior]]\nterm = "Start"\nmean = 0.0\nsd = 0.5\nper = "unit"\nsource = "S"\nconfidence = "H"\n'
    )
    kind = Kind("priors", "own.toml", honest, lambda p: no(priors.read(str(p))))
    yield kind.absent()
    yield kind.but("another format", "format = 1", "format = 7")
    yield kind.but("an SD of 0", "sd = 0.5", "sd = 0")
    yield kind.but("a mean as a word", "mean = 0.0", 'mean = "low"')
    yield kind.but("no source", 'source = "S"\n', "")
    yield kind.but("an unknown confidence", 'confidence = "H"', 'confidence = "sure"')


def _cohort(spoil: Callable[[Columns], object]) -> Spoil:
    def make(path: Path) -> None:
        held = children(24)
        spoil(held)
        write(held, path)

    return make


def _put(name: str, value: str, row: int = 0) -> Callable[[Columns], object]:
    return lambda held: held[name].__setitem__(row, value)


def _read_cohort(path: Path) -> None:
    cohorts.read(path, protocols.read("fixation_failure_24m"))


def _cohorts() -> Iterator[Bad]:
    kind = Kind("cohort", "children.csv", "", _read_cohort)
    yield kind.absent()
    yield kind.raw("an empty file", "")
    yield kind.raw("UTF-16", "case_id,age_years\n".encode("utf-16"))
    yield kind.raw("quotes never closed", 'case_id,age_years\n"X-1,2\n')
    yield kind.raw("a row too long", "case_id,age_years\nX-1,2,5\n")
    spoilt: dict[str, Callable[[Columns], object]] = {
        "a word for a number": _put("age_years", "nine"),
        "a decimal comma": _put("age_years", "9,5"),
        "an age that cannot be": _put("age_years", "92"),
        "an unknown level": _put("sex", "girl"),
        "a key twice": _put("case_id", "X-001"),
        "an empty key": _put("case_id", ""),
        "a missing column": lambda held: held.pop("condition"),
        "a column of names": lambda held: held.update(patient_name=["A. Person"] * 24),
        "NaN as a number": _put("age_years", "nan"),
    }
    for what, spoil in spoilt.items():
        yield Bad(kind.kind, what, kind.name, _cohort(spoil), kind.read)


def _beside(name: str, columns: Columns) -> Spoil:
    def make(folder: Path) -> None:
        folder.mkdir()
        write(
            {**children(24), "fixation_failure": ["no"] * 24, "fixation_failure_months": [""] * 24},
            folder / "children.csv",
        )
        write(columns, folder / f"{name}.csv")

    return make


def _further() -> Iterator[Bad]:
    rows: dict[str, tuple[str, Columns]] = {
        "a row of nobody": ("screws", further.screws(("Z-9", "c2_pedicle", "right", "C2", "3.5"))),
        "an unknown site": ("screws", further.screws(("X-001", "c2_pedicel", "right", "C2", "3.5"))),
        "a screw too thick": ("screws", further.screws(("X-001", "c2_pedicle", "right", "C2", "35"))),
        "an unknown event": ("events", further.events(("X-001", "bad_luck", "10"))),
        "an event before the operation": ("events", further.events(("X-001", "non_union", "-10"))),
        "a width as a word": ("corridors", further.corridors(("X-001", "c2_pedicle", "right", "C2", "wide", "5"))),
    }
    for what, (name, columns) in rows.items():
        yield Bad("further tables", what, "cohort", _beside(name, columns), _read_cohort)


def _maps() -> Iterator[Bad]:
    sheet = '[[sheet]]\nname = "R"\nbecomes = "children"\n'
    honest = f'format = 1\ndictionary = "cvj"\n{sheet}[sheet.column."No"]\nto = "case_id"\n'
    kind = Kind("registry map", "map.toml", honest, lambda p: no(mapping.read(p)))
    yield kind.absent()
    yield kind.but("another format", "format = 1", "format = 9")
    yield kind.but("guesses nobody looked at", 'to = "case_id"', 'to = "case_id"  # check')
    yield kind.but("an unknown table", 'becomes = "children"', 'becomes = "kids"')
    yield kind.but("a sheet of which nothing is said", 'becomes = "children"\n', "")
    yield kind.and_then("an unknown way of reading", 'reads = "birthday"\n')
    yield kind.raw("no sheet", 'format = 1\ndictionary = "cvj"\n')


def _cases() -> Iterator[Bad]:
    honest = 'format = 1\ncase_id = "TW-1"\n[values]\nage_years = 9.2\nsex = "female"\n'
    words = dictionaries.read("cvj")
    kind = Kind("case file", "TW-1.toml", honest, lambda p: no(cases.from_case_file(p, words)))
    yield kind.absent()
    yield kind.raw("no TOML", "age_years 9.2")
    yield kind.but("another format", "format = 1", "format = 3")
    yield kind.but("no key", 'case_id = "TW-1"\n', "")
    yield kind.but("an unknown name", "age_years", "age_year")
    yield kind.but("a list for a number", "9.2", "[9.2]")
    yield kind.but("out of range", "9.2", "920")
    yield kind.but("an unknown level", '"female"', '"girl"')
    yield kind.raw("no values", 'format = 1\ncase_id = "TW-1"\n')


def _plans() -> Iterator[Bad]:
    honest = _text(DEMONSTRATION / "plans" / "TW-204.toml")
    kind = Kind("plans file", "plans.toml", honest, lambda p: plans.read_plans(p).findings)
    yield kind.absent()
    yield kind.raw("no plan", "format = 1\n")
    yield kind.but("levels the wrong way round", 'upper = "C1"\nlower = "C2"', 'upper = "C2"\nlower = "C1"')
    yield kind.but("an unknown anchor", '"pedicle_screw"', '"pedicle_screws"')
    yield kind.but("a screw too thick", "diameter_mm = 3.5", "diameter_mm = 35")
    yield kind.but("a name twice", 'name = "B"', 'name = "A"')
    yield kind.but("a number as a word", "rods = 2", 'rods = "two"')


def _shelves() -> Iterator[Bad]:
    kind = Kind("stock", "stock.toml", _text(SHIPPED / "stock.toml"), lambda p: no(plans.read_stock(p)))
    yield kind.absent()
    yield kind.raw("no screws", 'format = 1\nname = "ours"\n')
    yield kind.but("a diameter twice", "diameter_mm = 3.0", "diameter_mm = 2.7")
    yield kind.but("lengths as words", "[4, 5, 6, 7]", '["4", "5"]')


def _limits() -> Iterator[Bad]:
    honest = 'format = 1\n[limit.screw_mm]\nvalue = 3.0\nsource = "our own"\n'
    kind = Kind("limits", "limits.toml", honest, lambda p: no(plans.read_limits(p)))
    yield kind.but("an unknown limit", "screw_mm", "screw_m")
    yield kind.but("no source", 'source = "our own"\n', "")
    yield kind.but("below 0", "3.0", "-3.0")


def _corridors() -> Iterator[Bad]:
    honest = _text(DEMONSTRATION / "cases" / "EH-112.corridors.csv")
    words = dictionaries.read("cvj")
    kind = Kind(
        "corridors", "EH-112.corridors.csv", honest, lambda p: plans.read_corridors(p, words, case_id="EH-112")[1]
    )
    yield kind.but("an unknown side", ",right,", ",rigth,")
    yield kind.but("a width as a word", "6.4", "wide")
    yield kind.but("no column of sites", "corridor_site", "site")


def _bundles() -> Iterator[Bad]:
    kind = Kind("bundle", "own.riskmodel.json", _text(GOLDEN), lambda p: no(bundles.read(p)))
    yield kind.absent()
    yield kind.raw("cut short", kind.honest[:5000])
    yield kind.but("one digit changed", '"optimism": 88', '"optimism": 89')
    yield kind.raw("JSON of another kind", "{}")
    yield kind.raw("nested without end", "[" * 100)
    yield kind.raw("a number that is none", '{"format": NaN}')
    yield kind.raw("a key twice", '{"format": 1, "format": 1}')
    for what, key, value in (
        ("a key lacking", "moments", None),
        ("a rate above 1", "cohort_rate", 1.5),
        ("a number as a word", "intercept", "low"),
        ("coefficients of another shape", "coefficients", [1.0]),
    ):
        yield kind.raw(f"sealed anew: {what}", _resealed(kind.honest, key, value))


def _resealed(text: str, key: str, value: object) -> bytes:
    document = {held: part for held, part in json.loads(text).items() if held not in (key, "digest")}
    if value is not None:
        document[key] = value
    return canonical({**document, "digest": hashlib.sha256(canonical(document)).hexdigest()})


def _shares() -> Iterator[Bad]:
    kind = Kind("share file", "TW.counts.json", _share(kind="counts", content={}), lambda p: no(shares.read(p)))
    yield kind.absent()
    yield kind.raw("cut short", kind.honest[:40])
    yield kind.but("changed afterwards", "counts", "sums")
    yield kind.raw("another kind", _share(kind="rows", content={}))
    yield kind.raw("a kind that is a list", _share(kind=["counts"], content={}))
    yield kind.raw("no content", _share(kind="counts"))
    yield kind.raw("content of another shape", _share(kind="counts", content={"rows": []}))
    yield kind.raw("a number without end", '{"digest": "", "format": 1e999}')
    yield kind.raw("a list", "[]")


def _share(**body: Any) -> str:
    held = {"format": 1, "caution": "", **body}
    return canonical({**held, "digest": hashlib.sha256(canonical(held)).hexdigest()}).decode()


def _secrets() -> Iterator[Bad]:
    honest = 'format = 1\n[secret]\nCM = "a phrase that is long enough"\n'
    kind = Kind("secrets", "secrets.toml", honest, lambda p: no(read_secrets(p, "TW")))
    yield kind.absent()
    yield kind.but("a phrase too short", "a phrase that is long enough", "short")
    yield kind.but("a secret with itself", "CM", "TW")


def _kept() -> Iterator[Bad]:
    kind = Kind("kept answers", "kept.sqlite3", "", lambda p: no(Store(p).all()))
    yield kind.raw("another program's file", "not a database at all")
    yield kind.raw("a database cut short", b"SQLite format 3\0" + bytes(50))
    yield Bad("kept answers", "a folder in its place", kind.name, lambda p: p.mkdir(), kind.read)


def _options() -> Iterator[Bad]:
    for what, extra in (
        ("an unknown tick", ["--for", "family", "--out", "a.pdf", "--tick", "surgery"]),
        ("an unknown language", ["--for", "family", "--out", "a.pdf", "--language", "xx"]),
        ("ticks for the surgeon", ["--for", "surgeon", "--out", "a.pdf", "--tick", "reasons"]),
        ("an ending that is none", ["--for", "surgeon", "--out", "a.doc"]),
        ("a shelf without plans", ["--for", "family", "--out", "a.pdf", "--stock", "stock.toml"]),
    ):
        yield Bad("sheet options", what, "case.toml", lambda _: None, _sheet(extra))


def _sheet(extra: list[str]) -> Reader:
    def read(path: Path) -> None:
        told = StringIO()
        with redirect_stderr(told):
            run(commands, "riskmodel", ["sheet", str(path), "--bundle", str(GOLDEN), *extra])
        raise RiskmodelError(told.getvalue().strip().splitlines()[-1])

    return read
