"""Tables with several rows per child: `measures`, `screws`, `events`."""

from typing import Final

import numpy as np

from synthetic_cohort import norms
from synthetic_cohort.cohort import Cohort, People
from synthetic_cohort.course import Life
from synthetic_cohort.recording import Table, months, named, text
from synthetic_cohort.records import Codes, Flags, Floats
from synthetic_cohort.tables.cells import NOT_APPLICABLE, NOT_TESTED, read, some, where
from synthetic_cohort.tables.construct import margin_mm
from synthetic_cohort.visits import FollowUp

SECOND_READER: Final = 0.25  # share of children read by two
_MECHANICAL: Final = (
    "implant_loosening",
    "screw_pull_out",
    "rod_or_screw_breakage",
    "spacer_displacement",
    "loss_of_reduction",
)
_OTHER_REVISION: Final = ("return_screw_position", "return_alignment", "return_neurology")
LUCENCY_ONLY: Final = 0.18  # share of the others with a rim round a screw and nothing else


def _table(keys: list[str], rows: list[tuple[Codes, Table]]) -> Table:
    """Blocks of rows, one below the other and then sorted by child; a block says which child each row is of."""
    order = np.argsort(np.concatenate([of for of, _ in rows]), kind="stable")
    names = rows[0][1]
    whole: Table = {"case_id": [keys[place] for of, _ in rows for place in of.tolist()]}
    whole |= {name: [cell for _, block in rows for cell in block[name]] for name in names}
    return {name: [column[place] for place in order.tolist()] for name, column in whole.items()}


def measures(rng: np.random.Generator, people: People, keys: list[str]) -> Table:
    """Interval and room for the cord: by the first reader as in the core, by a second one for some."""
    child, true = people.child, people.anatomy
    pairs = (
        ("adi_mm", child.adi_mm, true.adi_mm, norms.ADI_READER_SD_MM, -3.0),
        ("padi_mm", child.padi_mm, true.canal_mm, norms.CANAL_READER_SD_MM, 3.0),
    )
    again, when = some(rng, SECOND_READER, len(keys)), np.round(-rng.uniform(0.1, 3.0, len(keys)), 1)
    rows = []
    for name, first, mean, sd, low in pairs:
        known = np.flatnonzero(~np.isnan(first))
        rows.append((known, _measured(name, text(first[known]), when[known], "A")))
        twice = np.flatnonzero(~np.isnan(first) & again)
        rows.append((twice, _measured(name, read(rng, mean[twice], sd, low=low), when[twice], "B")))
    return _table(keys, rows)


def _measured(name: str, values: list[str], when: Floats, reader: str) -> Table:
    n = len(values)
    return {
        "measure_variable": [name] * n,
        "measure_value": values,
        "measure_unit": ["mm"] * n,
        "measure_months": text(when),
        "measure_modality": ["ct"] * n,
        "measure_position": ["neutral"] * n,
        "measure_traction": ["no"] * n,
        "measure_reader": [reader] * n,
    }


def screws(rng: np.random.Generator, people: People, keys: list[str]) -> Table:
    """Screws of C1 and C2, one row each, with the breach seen on a CT where there was one."""
    plan, bone = people.plan, people.anatomy.bone
    rigid = plan.construct == 0
    scanned = some(rng, 0.6, len(keys))
    need = (norms.screw_mm(people.child.age_years) + norms.CLEARANCE_MM)[:, None]
    by_pedicle = bone.pedicle_mm >= need
    spare = margin_mm(bone, people.child.age_years)
    at_atlas = rigid & (~plan.occiput | people.anchorage.joined)
    rows = []
    for place, side in enumerate(("right", "left")):
        c1 = np.flatnonzero(at_atlas & bone.atlas_firm[:, place])
        rows.append((c1, _screw(rng, people, c1, "c1_lateral_mass", side, np.full(len(c1), 2.0), scanned)))
        for site, chosen in (("c2_pedicle", by_pedicle[:, place]), ("c2_lamina", ~by_pedicle[:, place])):
            c2 = np.flatnonzero(rigid & bone.axis_firm[:, place] & chosen)
            rows.append((c2, _screw(rng, people, c2, site, side, spare[c2, place], scanned)))
    return _table(keys, rows)


def _screw(
    rng: np.random.Generator, people: People, of: Codes, site: str, side: str, spare: Floats, scanned: Flags
) -> Table:
    n = len(of)
    out = rng.random(n) / np.exp(-0.6 * (spare - 1))
    grade = (out < 0.16).astype(np.int64) + (out < 0.045) + (out < 0.008)
    blind = ~scanned[of]
    direction = np.where(grade == 0, 0, rng.integers(1, 3, n))
    return {
        "screw_site": [site] * n,
        "screw_side": [side] * n,
        "screw_level": ["C1" if site.startswith("c1") else "C2"] * n,
        "screw_diam_mm": text(norms.screw_mm(people.child.age_years[of])),
        "screw_len_mm": text(rng.choice([16, 18, 20, 22, 24], n)),
        "planned_v_placed": named(("as_planned", "changed_site"), some(rng, 0.05, n).astype(np.int64)),
        "breach_grade": where(text(grade), blind, NOT_TESTED),
        "breach_direction": where(named(("none", "canal", "foramen"), direction), blind, NOT_TESTED),
    }


def events(rng: np.random.Generator, made: Cohort, seen: FollowUp, keys: list[str]) -> Table:
    """What was seen, with its kind; the first of them make the outcomes of the core."""
    failed, revised = np.isfinite(seen.failure), np.isfinite(seen.revision)
    lucent = ~failed & (seen.last_scan > 6) & some(rng, LUCENCY_ONLY, len(keys))
    ends = ((seen.removal, "planned_removal", "theatre"), (seen.death, "death", "clinic"))
    rows = [
        _happened(np.flatnonzero(failed), _component(rng, made.people, made.life, failed), seen.failure, "scan", seen)
    ]
    rows.append(
        _happened(np.flatnonzero(revised), _reason(rng, made.life, seen, revised), seen.revision, "theatre", seen)
    )
    when = np.minimum(seen.last_scan, rng.uniform(3, 24, len(keys)))
    rows.append(_happened(np.flatnonzero(lucent), ["lucency_only"] * int(lucent.sum()), when, "scan", seen))
    for at, kind, by in ends:
        of = np.flatnonzero(np.isfinite(at))
        rows.append(_happened(of, [kind] * len(of), at, by, seen))
    return _table(keys, rows)


def _component(rng: np.random.Generator, people: People, life: Life, failed: Flags) -> list[str]:
    """Non-union, or what the metal did: breakage in long constructs, lost reduction without rigid metal."""
    n, plan = len(failed), people.plan
    weights = np.stack(
        [
            np.full(n, 0.35),
            0.2 * np.exp(-0.4 * people.hidden.bone),
            0.12 * np.exp(0.15 * plan.segments) * (plan.construct < 3),
            np.where((plan.construct == 0) & ~plan.occiput, 0.12, 0.0),
            np.where(plan.construct >= 2, 0.45, 0.15),
        ],
        axis=1,
    )
    draws = rng.random(n) * weights.sum(axis=1)
    kind = np.where(life.mechanical, 1 + (np.cumsum(weights, axis=1) <= draws[:, None]).sum(axis=1), 0)
    return named(("non_union", *_MECHANICAL), kind[failed])


def _reason(rng: np.random.Generator, life: Life, seen: FollowUp, revised: Flags) -> list[str]:
    after = np.isfinite(seen.failure) & (seen.revision >= seen.failure) & (seen.revision < life.other_revision)
    alone = np.where(seen.revision < 2, 0, 1 + some(rng, 0.3, len(revised)))
    return named(
        (*_OTHER_REVISION, "return_construct", "return_non_union"), np.where(after, 4 - life.mechanical, alone)[revised]
    )


def _happened(of: Codes, kinds: list[str], at: Floats, found_by: str, seen: FollowUp) -> tuple[Codes, Table]:
    n, planned = len(of), [("yes" if kind == "planned_removal" else "no") for kind in kinds]
    side = [NOT_APPLICABLE] * n
    return of, {
        "event_kind": kinds,
        "event_months": months(at[of]),
        "event_planned": planned,
        "event_found_by": [found_by] * n,
        "event_side": side,
    }
