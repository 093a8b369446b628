"""From rows of screws, or of measured corridors, to one value per child."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Column, Floats, State, column
from riskmodel.dictionary.model import Variable
from training.cohort.rows.corridors import margins, own_margins
from training.cohort.rows.further import Long
from training.protocol.row_rules import AnchorRule, End, Fold, Without

FITS_MM = 0.5  # the margin from which a screw fits; from 0 to it, barely. common practice, no source
BREACH_GRADE = 2  # from half a screw outside on, by the four-step grade; common practice, no source
TOLERANCE_MM = 1e-9
UPPER, LOWER = "upper_level", "lower_level"

Marks = NDArray[np.bool_]
Variables = Mapping[str, Variable]


@dataclass(frozen=True, slots=True)
class Anchors:
    """The m rows as the rule sees them.

    `child`, `site`, `level` (m,): places; site and level NaN where not told. `margin_mm` (m,): NaN where not known.
    `screw` (m,): a screw or its corridor, not a hook, a wire or a path without bone. `there` (m,): placed, or planned.
    """

    child: NDArray[np.intp]
    site: Floats
    level: Floats
    margin_mm: Floats
    screw: Marks
    there: Marks


def needed_columns(rule: AnchorRule) -> tuple[str, ...]:
    """The columns of the table that the rule cannot do without."""
    if rule.table == "corridors":
        return ("corridor_site", "corridor_side", "corridor_level", "corridor_mm")
    if rule.fold is Fold.BREACH:
        return ("screw_site", "breach_grade")
    return ("screw_site", "screw_side", "screw_level", *(("screw_diam_mm",) if rule.fold.by_margin else ()))


def folded(
    tables: Mapping[str, Long],
    rule: AnchorRule,
    children: Mapping[str, Column],
    variables: Variables,
    variable: Variable,
) -> Column:
    """What the rows of each child become under the rule.

    Parameters
    ----------
    tables : the long tables, that of the rule among them
    children : columns of n children; the ends of their constructs are needed by a rule that names an end
    variables : of the dictionary
    variable : what is made
    """
    rows, count = tables[rule.table], len(next(iter(children.values())).values)
    held = _corridors(rows, rule) if rule.table == "corridors" else _screws(rows, tables, rule, variables)
    chosen, unsure = _chosen(held, rule, variables)
    made = []
    for end in _ends(rule):
        at, lost = _at_end(held, children, variables, end, rule)
        marks = (chosen & at, (unsure & (at | lost)) | (chosen & lost))
        made.append(
            _any(rows, variables, marks, count) if rule.fold is Fold.BREACH else _one_end(held, rule, marks, count)
        )
    values = np.where(np.bincount(rows.child, minlength=count) > 0, np.minimum.reduce(made), _without(rule))
    return _column(values, rule, variable)


def _without(rule: AnchorRule) -> float:
    return 0.0 if rule.without is Without.NONE else np.nan


def _screws(rows: Long, tables: Mapping[str, Long], rule: AnchorRule, variables: Variables) -> Anchors:
    site, diameter = rows["screw_site"], rows["screw_diam_mm"]
    there = np.ones(len(rows), dtype=np.bool_)
    if rule.done:
        placed = rows["planned_v_placed"].values
        codes = variables["planned_v_placed"].codes
        as_planned = placed == codes.index("as_planned")
        site, diameter = (_done(rows, name, as_planned) for name in ("screw_site", "screw_diam_mm"))
        there = placed != codes.index("skipped")
    width = margins(tables["corridors"], rows, site.values) if rule.fold.by_margin else np.full(len(rows), np.nan)
    screw = diameter.states != State.NOT_APPLICABLE
    return Anchors(rows.child, site.values, rows["screw_level"].values, width - diameter.values, screw, there)


def _done(rows: Long, name: str, as_planned: Marks) -> Column:
    """As done where that is told, else as planned where nothing was changed."""
    plan, deed = rows[name], rows[f"done_{name}"]
    states = np.where(deed.missing & as_planned, plan.states, deed.states).astype(np.int8)
    return column(np.where(deed.present, deed.values, plan.values), states)


def _corridors(rows: Long, rule: AnchorRule) -> Anchors:
    bone = rows["corridor_mm"].states != State.NOT_APPLICABLE
    everywhere = np.ones(len(rows), dtype=np.bool_)
    margin = own_margins(rows) - (rule.diameter_mm or 0.0)
    return Anchors(rows.child, rows["corridor_site"].values, rows["corridor_level"].values, margin, bone, everywhere)


def _chosen(held: Anchors, rule: AnchorRule, variables: Variables) -> tuple[Marks, Marks]:
    """(m,) the rows of the sites that count; (m,) the rows of which that is not known."""
    codes = variables["screw_site"].codes if rule.table == "screws" else variables["corridor_site"].codes
    places = [codes.index(site) for site in rule.sites]
    chosen = held.there & (np.isin(held.site, places) if places else True)
    unsure = held.there & np.isnan(held.site) & bool(places)
    if rule.fold.by_margin:
        chosen &= held.screw
        unsure |= chosen & np.isnan(held.margin_mm)
    return chosen, unsure


def _ends(rule: AnchorRule) -> tuple[End | None, ...]:
    return (End.UPPER, End.LOWER) if rule.end is End.WEAKER else (rule.end,)


def _at_end(
    held: Anchors, children: Mapping[str, Column], variables: Variables, end: End | None, rule: AnchorRule
) -> tuple[Marks, Marks]:
    """(m,) the rows at the end of their child's construct; (m,) the rows of which that is not known."""
    if end is None:
        return np.ones(len(held.child), dtype=np.bool_), np.zeros(len(held.child), dtype=np.bool_)
    name = UPPER if end is End.UPPER else LOWER
    name = (variables[name].deed or name) if rule.done else name
    bone = children[name].values[held.child]
    return held.level == bone, held.there & (np.isnan(bone) | np.isnan(held.level))


def _one_end(held: Anchors, rule: AnchorRule, marks: tuple[Marks, Marks], count: int) -> Floats:
    """(n,) the fold over the chosen rows; NaN where a row that may count is not known."""
    margin, (chosen, unsure) = held.margin_mm, marks
    if rule.fold is Fold.MARGIN:
        values = np.full(count, np.inf)
        np.minimum.at(values, held.child[chosen & ~np.isnan(margin)], margin[chosen & ~np.isnan(margin)])
    else:
        fits = margin >= FITS_MM - TOLERANCE_MM
        counted = {
            Fold.COUNT: chosen,
            Fold.FITTING: chosen & fits,
            Fold.BARELY: chosen & (margin >= -TOLERANCE_MM) & ~fits,
        }[rule.fold]
        values = np.bincount(held.child[counted], minlength=count).astype(np.float64)
    return np.where(np.bincount(held.child[unsure], minlength=count) > 0, np.nan, values)


def _column(values: Floats, rule: AnchorRule, variable: Variable) -> Column:
    """A smallest margin of no screw at all is not applicable, where the variable knows the word."""
    bare = np.isinf(values)
    states = np.where(np.isnan(values) | bare, State.MISSING, State.PRESENT).astype(np.int8)
    if rule.fold is Fold.MARGIN and State.NOT_APPLICABLE.name.lower() in variable.states:
        states[bare] = State.NOT_APPLICABLE
    return column(np.where(bare, np.nan, values), states)


def _any(rows: Long, variables: Variables, marks: tuple[Marks, Marks], count: int) -> Floats:
    """(n,) 1 where any chosen screw is out of its corridor, 0 where all were looked at and none is, else NaN."""
    grade, codes = rows["breach_grade"].values, variables["breach_grade"].codes
    chosen, unsure = marks
    out = chosen & (grade >= codes.index(str(BREACH_GRADE)))
    unseen = unsure | (chosen & np.isnan(grade))
    yes, seen, blind = (np.bincount(rows.child[mark], minlength=count) > 0 for mark in (out, chosen, unseen))
    return np.select([yes, seen & ~blind], [1.0, 0.0], np.nan)
