"""Whatever stands in the cells: a registry is tidied or refused with findings, and nothing else ever happens."""

from contextlib import suppress
from datetime import date, datetime

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.errors import Refused
from tests.training.registry.build import ON, cvj
from training.registry.cells import Broken
from training.registry.mapping.model import (
    Between,
    ColumnRule,
    Combine,
    DateRule,
    Decimal,
    LaterOperations,
    NumberRule,
    Order,
    Partial,
    Reads,
    RegistryMap,
    Rows,
    SheetRule,
    SideRule,
    StatusRule,
    Unmarked,
    Vague,
)
from training.registry.sheets import Registry, Sheet
from training.registry.tidying import tidy

LOOSE = DateRule(Order.DAY_FIRST, 1950, Partial.MIDDLE, Partial.MIDDLE, 1900)
VAGUE = NumberRule(None, Decimal.EITHER, Vague.VALUE, Vague.VALUE, Vague.VALUE, Between.MIDDLE, 1.0, "cm")
RULES = (
    ColumnRule("No", ("case_id",)),
    ColumnRule("Op", ("operation_date",), date=LOOSE),
    ColumnRule("DOB", ("age_years",), Reads.BIRTH_DATE, date=LOOSE),
    ColumnRule("ADI", ("adi_mm",), number=VAGUE, turned_dates=Order.DAY_FIRST,
               empty={"-": "missing", "nm": "not_measurable"}),
    ColumnRule("Dx", ("condition",), codes={"t21": (("", "down"),)},
               question_mark=("condition_confirmed", "suspected")),
    ColumnRule("Levels", ("upper_level", "lower_level"), Reads.SPAN, bare="C", turned_dates=Order.DAY_FIRST),
    ColumnRule(
        "VA", ("artery_right", "artery_left"), Reads.SIDES, codes={"n": (("", "usual"),)},
        sides=SideRule(("bilat",), Unmarked.BOTH, "high_riding", "usual"),
    ),
    ColumnRule("Bone", ("planned_decompression",), codes={"fm": (("", "foramen_magnum"),)}, separators=("+", "and")),
    ColumnRule(
        "Status", ("other_end",), codes={"alive": (("", "none"),), "died": (("", "death"),)}, date=LOOSE,
        status=StatusRule("in_cell", "last_contact_date", ("death",)),
    ),
    ColumnRule("Seen", ("last_contact_date",), date=LOOSE, combine=Combine.LATEST),
    ColumnRule("Revised", ("revision_date",), date=LOOSE, when_filled=(("revision", "yes"),),
               when_empty=(("revision", "no"),)),
)  # fmt: skip
LATER = LaterOperations(
    "Kind", {"redo": (("", "revision"),), "before": (("", "earlier"),)}, None, "no", "prior_cvj_surgery"
)
HEADER = (*(rule.header for rule in RULES), "Kind")
TYPED = ("A-1", "A-2", "2019-04-03", "3/4/2019", "<2", "3-4", "3.5mm", "R 3 L 2", "R", "bilat", "C1-2", "Oc-C2", "T21?",
         "fm+c1", "alive 2018", "died", "nm", "-", "?", "Mar 2019", "redo", "before", "1,234", "#REF!",
         "4y7m")  # fmt: skip
CELL = st.one_of(
    st.none(),
    st.sampled_from(TYPED),
    st.text(max_size=10),
    st.integers(-10, 50_000),
    st.floats(),
    st.booleans(),
    st.dates(date(1890, 1, 1), date(2040, 1, 1)),
    st.datetimes(datetime(1890, 1, 1), datetime(2040, 1, 1)),
    st.just(Broken("#DIV/0!")),
)
ROW = st.lists(CELL, min_size=len(HEADER), max_size=len(HEADER)).map(tuple)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ROW, max_size=6), st.booleans())
def test_a_registry_is_tidied_or_refused(rows: list[tuple[object, ...]], operations: bool) -> None:
    rule = SheetRule("R", "children", columns=RULES, rows=Rows.OPERATIONS if operations else Rows.CHILDREN, later=LATER)
    sheet = Sheet("R", (HEADER, *rows))  # type: ignore[arg-type]
    with suppress(Refused):
        held = tidy(Registry("r.xlsx", {"R": sheet}), RegistryMap("map.toml", "cvj", (rule,)), cvj(), on=ON)
        assert held.tables["children"].header[0] == "case_id"
