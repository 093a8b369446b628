"""A registry's own spelling of a cohort: many words for one code, dates for months, two things in one cell.

Everything that is done here can be undone with a map that lists the spellings; nothing is lost. What is spelt how is
drawn per cell. The families of dirt are listed in the README.
"""

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Final

Cell = str | int | float | date | None

MEAN_MONTH_DAYS: Final = 365.25 / 12
MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec")
FIRST_SERIAL: Final = date(1899, 12, 30)  # day 0 of the spreadsheet calendar that starts in 1900

EMPTY_WORDS: Final = (None, None, "NR", "?", "n/k", "99")  # the last only where no value can be 99

SPELLINGS: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    "sex": {"female": ("F", "f", "girl", "Female"), "male": ("M", "m", "boy", "Male")},
    "condition": {
        "down": ("T21", "Downs", "Down's", "trisomy 21"),
        "mps_iva": ("Morquio A", "MPS 4A", "MPS IVA"),
        "mps_i": ("Hurler", "MPS I"),
        "mps_vi": ("Maroteaux-Lamy", "MPS VI"),
        "sedc": ("SEDC", "SED congenita"),
        "osteogenesis_imperfecta": ("OI", "osteogenesis imperfecta"),
        "klippel_feil": ("KFS", "Klippel Feil"),
        "del_22q11": ("22q11", "di George"),
        "goldenhar_oavs": ("Goldenhar", "OAVS"),
        "non_syndromic": ("non-syndromic", "no syndrome", "isolated"),
        "neurofibromatosis_1": ("NF1", "neurofibromatosis"),
        "achondroplasia": ("ACH", "achondroplasia"),
        "juvenile_arthritis": ("JIA", "juvenile arthritis"),
        "cerebral_palsy_dystonia": ("CP/dystonia", "dystonia"),
    },
    "indication": {
        "instability": ("instability", "unstable", "AAI"),
        "cord_compression": ("cord compression", "myelopathy"),
        "basilar_invagination": ("BI", "basilar invagination"),
        "deformity": ("deformity", "fixed tilt"),
        "after_bone_removal": ("post decompression", "after FMD"),
        "earlier_fusion_failed": ("failed fusion elsewhere",),
    },
    "prior_cvj_surgery": {"0": ("0", "nil", "none")},
    "nurick_grade": {"not_applicable": ("not walking yet", "too young")},
    "reduces": {
        "awake": ("yes, awake", "on extension"),
        "under_traction": ("w/ traction", "traction"),
        "not_under_traction": ("irreducible", "fixed"),
        "not_tested": ("not tested", "untested"),
    },
    "atlas_ring": {
        "intact": ("intact", "closed"),
        "posterior_open": ("post arch open", "posterior cleft"),
        "anterior_open": ("ant arch open", "anterior cleft"),
        "both_open": ("bipartite", "both arches open"),
        "posterior_absent": ("no post arch", "posterior arch absent"),
        "side_absent": ("hemi-atlas", "one side absent"),
    },
    "artery": {
        "usual": ("normal", "usual"),
        "high_riding": ("high riding", "HRVA"),
        "over_c1_entry": ("over C1", "over C1 entry"),
        "absent": ("absent", "occluded"),
        "not_imaged": ("no CTA", "not imaged"),
    },
    "level": {"O": ("Oc", "Occ", "C0", "O")},
    "construct_kind": {
        "rigid": ("screws+rods", "rigid", "screw-rod"),
        "transarticular_cable": ("Transarticular + cable", "TA screws"),
        "hook_or_wire_rod": ("wired rod", "hooks", "wires and rod"),
        "no_rigid_metal": ("bone graft only", "onlay"),
    },
    "graft_kind": {
        "structural_own": ("iliac strut", "rib strut"),
        "other_own": ("local bone", "own chips"),
        "donor": ("allograft", "DBM"),
        "none": ("no graft",),
    },
    "planned_decompression": {
        "none": ("none", "no"),
        "foramen_magnum": ("FM", "FMD"),
        "c1_arch": ("C1", "C1 arch"),
        "c2_lamina": ("C2", "C2 lamina"),
        "below_c2": ("subaxial",),
        "ventral": ("ventral", "transoral"),
    },
    "planned_support": {
        "none": ("nothing", "no brace"),
        "collar": ("collar", "hard collar"),
        "rigid": ("Minerva", "cast", "SOMI"),
        "halo": ("halo", "Halo vest"),
    },
    "fixation_failure": {"yes": ("Y", "yes", "1", "✓"), "no": ("N", "no", "0"), "unknown": ("not known", "unk")},
    "revision": {"unknown": ("not known", "unk")},
    "other_end": {
        "none": ("alive", "ok"),
        "death": ("died", "RIP"),
        "planned_removal": ("metalwork out (planned)", "planned ROM"),
        "left_area": ("moved away", "left area"),
    },
}

Choose = Callable[[int], int]


def spelt(choose: Choose, name: str, code: str) -> str:
    """One of the spellings of a code; the code itself with blanks where there is none."""
    options = SPELLINGS[name].get(code, (code.replace("_", " "),))
    return options[choose(len(options))]


def number(choose: Choose, text: str, unit: str) -> Cell:
    """A measurement as people type it: point, comma, unit, centimetres, long dash, hard blank."""
    value = float(text)
    forms = (
        value,
        text.replace(".", ","),
        f"{text} {unit}",
        f"{text}\u00a0{unit}",
        f"{value / 10:.2f} cm",
    )
    chosen = forms[choose(len(forms))]
    return chosen.replace("-", "\u2013") if isinstance(chosen, str) else chosen


def age(choose: Choose, text: str) -> Cell:
    """An age; whole half years in years and months, which lose nothing."""
    value = float(text)
    years, half = int(value), value % 1 == 0.5
    if value % 1 not in (0.0, 0.5):
        return (value, text.replace(".", ","))[choose(2)]
    months = 6 if half else 0
    forms = (f"{years}y{months}m", f"{years}+{months}", f"{years} {months}/12", f"{12 * years + months}m", value)
    return forms[choose(len(forms))]


def span(choose: Choose, upper: str, lower: str) -> Cell:
    """From where to where; a bare 1-2 has become the first of February."""
    if upper == "C1" and lower.startswith("C"):
        turned = date(2000, int(lower[1:]), 1)  # typed 1-2, read as a day and a month
        return (f"{upper}-{lower}", f"C1/{lower[1:]}", f"{upper}\u2013{lower}", turned)[choose(4)]
    first = spelt(choose, "level", upper)
    return (f"{first}-{lower}", f"{first}/{lower}", f"{first}\u2013{lower}", f"{first} to {lower}")[choose(4)]


def sides(choose: Choose, right: str, left: str) -> str:
    """Two sides in one cell."""
    if right == left and choose(2):
        return f"bilat {spelt(choose, 'artery', right)}"
    return f"R {spelt(choose, 'artery', right)}, L {spelt(choose, 'artery', left)}"


def sites(choose: Choose, flags: str) -> str:
    """Several sites joined by a plus."""
    return " + ".join(spelt(choose, "planned_decompression", flag) for flag in flags.split("+"))


def day(choose: Choose, when: date) -> Cell:
    """A date: a date, ISO text, day first, in words, or a spreadsheet's day number."""
    forms: tuple[Cell, ...] = (
        when,
        when.isoformat(),
        f"{when.day}/{when.month}/{when.year}",
        f"{when.day:02d}.{when.month:02d}.{when.year}",
        f"{when.day} {MONTHS[when.month - 1]} {when.year}",
        (when - FIRST_SERIAL).days,
    )
    return forms[choose(len(forms))]


def operation_day(year: int, part: float) -> date:
    """Day of the operation."""
    return date(year, 1, 1) + timedelta(days=int(part * 365))


def months_later(start: date, months: str) -> date:
    """The day so many months later that, counted in calendar months, it rounds to the same tenth."""
    wanted = float(months)
    near = start + timedelta(days=round(wanted * MEAN_MONTH_DAYS))
    days = sorted((near + timedelta(days=shift) for shift in range(-6, 7)), key=lambda day_: abs(day_ - near))
    return min(days, key=lambda day_: abs(calendar_months(start, day_) - wanted))


def calendar_months(start: date, end: date) -> float:
    """Whole months, and what is left in mean months. Common practice, no source."""
    months = 12 * (end.year - start.year) + end.month - start.month
    return months + (end.day - start.day) / MEAN_MONTH_DAYS


def birthday(operated: date, age_years: str) -> date:
    """A day of birth that gives this age at the operation."""
    return operated - timedelta(days=round(float(age_years) * 365.25))
