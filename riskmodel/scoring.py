"""Score cases with a bundle: gates, probability, interval, and what each term contributed.

The way of a case: gates -> columns -> log-odds -> probability, interval, contributions -> `RiskEstimate`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from riskmodel import bundle as bundles
from riskmodel import cases as doors
from riskmodel import derive
from riskmodel.account import Account, Contribution, blank, bound, lines, state
from riskmodel.bundle import Bundle, Published
from riskmodel.cases.header import Elsewhere
from riskmodel.cases.table import CaseTable, Floats, column
from riskmodel.errors import CasesRefused, Finding, Severity, refuse_errors
from riskmodel.gates import Gate, Verdicts, verdicts
from riskmodel.like_cases import Like, count_words, like_cases
from riskmodel.measuring import MissingValue, lacking_variables, what_measuring_buys
from riskmodel.model import LEVEL, Model, expit
from riskmodel.tables import RawTable

Checked = tuple[CaseTable, tuple[Finding, ...]]

# Cases whose draws are held at once: keeps a table of any length within a few megabytes.
CHUNK = 2048
CHUNK_WITH_HOLES = 32


@dataclass(frozen=True, slots=True)
class LikeCases:
    """How many children of the cohort were like this one, in words ("fewer than 5", "at least 40")."""

    described: str
    count: str


@dataclass(frozen=True, slots=True)
class RiskEstimate:
    """The answer for one case.

    Probabilities in [0, 1], contributions in log-odds. When a blocking gate failed, `shown` is False, `probability`,
    `low`, `high` and `log_odds` are None and `contributions` is empty; gates, missing values and like cases stand.
    """

    case_id: str
    shown: bool
    probability: float | None
    low: float | None
    high: float | None
    level: float
    log_odds: float | None
    base_log_odds: float
    cohort_rate: float
    contributions: tuple[Contribution, ...]
    gates: tuple[Gate, ...]
    missing: tuple[MissingValue, ...]
    like_cases: tuple[LikeCases, ...]
    published: Published | None

    @property
    def base_probability(self) -> float:
        """Probability with every column at its mean; not the cohort's rate."""
        return float(expit(np.array(self.base_log_odds)))


@dataclass(frozen=True, slots=True)
class ScoreArrays:
    """Answers of n cases as arrays: probability, low, high (n,), NaN where not `shown` (n,)."""

    probability: Floats
    low: Floats
    high: Floats
    shown: NDArray[np.bool_]
    gates: tuple[Verdicts, ...]


def load(path: str | Path) -> "Scorer":
    """Read a bundle and make it ready to score.

    Raises
    ------
    BundleError
        When the file is not an unaltered bundle.
    """
    return Scorer(bundles.read(Path(path)))


class Scorer:
    """A bundle ready to score; holds no case."""

    __slots__ = ("_asked", "_later", "bundle", "model")

    def __init__(self, bundle: Bundle) -> None:
        made = {derivation.name for derivation in bundle.derive}
        self.bundle = bundle
        self.model: Model = bundle.model
        self._asked = tuple(name for name in bundle.dictionary.variables if name not in made)
        self._later = frozenset(bundle.gates.known_later)

    def score(self, case: Mapping[str, object], *, on: date) -> RiskEstimate:
        """Score one case given as variable -> value, as a case file writes them.

        Raises
        ------
        CasesRefused
            With everything that cannot be true or cannot be read.
        """
        return self.score_table(self.read_case(case)[0], on=on)[0]

    def read_case(self, case: Mapping[str, object], *, case_id: str = "", sheet: str = "case") -> Checked:
        """One case as a checked table of one row, and what is doubtful in it.

        Names of the dictionary that the model does not use are passed over; any other name is an error.

        Raises
        ------
        CasesRefused
            With everything that cannot be true or cannot be read.
        """
        elsewhere = self._elsewhere(Severity.ERROR)
        words = self.bundle.dictionary
        cases, findings = doors.check_mapping(case, words, case_id=case_id, elsewhere=elsewhere, sheet=sheet)
        return self._sound(cases, findings, sheet, (None,))

    def read_table(self, raw: RawTable) -> Checked:
        """A table of cases, checked, and what is doubtful in it; unknown columns are warnings.

        Raises
        ------
        CasesRefused
            With everything that cannot be true or cannot be read.
        """
        cases, findings = doors.check(raw, self.bundle.dictionary, elsewhere=self._elsewhere(Severity.WARNING))
        return self._sound(cases, findings, raw.sheet, raw.numbers)

    def _elsewhere(self, unknown: Severity) -> Elsewhere:
        return Elsewhere(self.bundle.gates.known_later, self.bundle.gates.known_else, unknown)

    def _sound(
        self, cases: CaseTable, findings: Sequence[Finding], sheet: str, numbers: Sequence[int | None]
    ) -> Checked:
        """The cases, when neither they nor what is derived from them holds an error."""
        return cases, refuse_errors((*findings, *self.contradictions(cases, sheet, numbers)), CasesRefused)

    def contradictions(
        self, cases: CaseTable, sheet: str = "case", numbers: Sequence[int | None] = (None,)
    ) -> tuple[Finding, ...]:
        """Where what is derived from checked cases cannot be true, or the cases tell it otherwise.

        `read_case` and `read_table` ask this themselves; cases that were checked by a larger dictionary are asked here.
        """
        told = self._complete(cases)
        return tuple(derive.contradictions(told, self.bundle.derive, self.bundle.dictionary, sheet, numbers))

    def score_table(self, cases: CaseTable, *, on: date, measuring: bool = True) -> tuple[RiskEstimate, ...]:
        """Full answers for n checked cases, in their order; without `measuring` nothing of what is missing is said.

        What measuring would buy takes a case with many holes longer than all the rest: an app may ask for it later.
        """
        whole, columns, bounds = self._derived(cases), self._blank(cases), np.empty((2, len(cases)))
        likes = like_cases(self.bundle, whole)
        gates = verdicts(self.bundle, whole, likes, on=on)
        told, lacking = blank(self.model, len(whole)), self.model.recipe.holes(whole)
        for rows, expected, drawn in self._parts(whole, lacking):
            columns[rows], bounds[:, rows] = expected, self.model.interval(drawn)
            bound(self.model, drawn, rows, told)
        state(self.model, columns, told)
        answers = _Answers(
            bundle=self.bundle,
            model=self.model,
            cases=whole,
            gates=gates,
            log_odds=self.model.log_odds(columns),
            bounds=bounds,
            told=told,
            likes=likes,
            lacking=lacking & measuring,
        )
        return tuple(answers.of(case) for case in range(len(whole)))

    def lacking(self, case: CaseTable) -> tuple[str, ...]:
        """Variables that a single checked case lacks."""
        return lacking_variables(self.model, self._complete(case))

    def arrays(self, cases: CaseTable, *, on: date) -> ScoreArrays:
        """Probability, interval and gates of n checked cases as arrays."""
        whole, columns, bounds = self._derived(cases), self._blank(cases), np.empty((2, len(cases)))
        gates = verdicts(self.bundle, whole, like_cases(self.bundle, whole), on=on)
        for rows, expected, drawn in self._parts(whole, self.model.recipe.holes(whole)):
            columns[rows], bounds[:, rows] = expected, self.model.interval(drawn)
        shown = np.all([gate.passed for gate in gates if gate.blocks], axis=0)
        probability, low, high = (np.where(shown, held, np.nan) for held in (self.model.probability(columns), *bounds))
        return ScoreArrays(probability, low, high, shown, gates)

    def drawn_probabilities(self, cases: CaseTable) -> Floats:
        """(n, K) probability of n checked cases in each draw of the model; what they lack is drawn alike for all."""
        recipe = self.model.recipe
        return expit(self.model.drawn_log_odds(recipe.drawn(self._complete(cases))))

    def _derived(self, cases: CaseTable) -> CaseTable:
        """The cases with every variable that the model reads, derived ones too."""
        return self.model.recipe.derived(self._complete(cases))

    def _blank(self, cases: CaseTable) -> Floats:
        return np.empty((len(cases), self.model.recipe.width))

    def _complete(self, cases: CaseTable) -> CaseTable:
        """The cases with a column for everything that the model asks for, empty where the case says nothing.

        Of other columns only those stay that hold what is known too late.
        """
        known = self.bundle.dictionary.variables
        stay = {
            name: held
            for name, held in cases.columns.items()
            if name in known or (name in self._later and held.present.any())
        }
        given = {name: column(np.full(len(cases), value)) for name, value in self.bundle.scored_at.items()}
        return doors.with_missing(CaseTable(cases.keys, stay), self._asked).with_columns(given)

    def _parts(self, cases: CaseTable, lacking: NDArray[np.bool_]) -> Iterator[tuple[NDArray[np.intp], Floats, Floats]]:
        """Rows, their expected columns (m, C), and those for the draws.

        Where nothing is missing the two are the same; where something is (`lacking`), the latter are (m, K, C).
        """
        recipe = self.model.recipe
        for rows in _chunks(np.flatnonzero(~lacking), CHUNK):
            columns = recipe.complete(cases.take(rows))
            yield rows, columns, columns
        for rows in _chunks(np.flatnonzero(lacking), CHUNK_WITH_HOLES):
            yield rows, *recipe.expected_and_drawn(cases.take(rows))


def _chunks(rows: NDArray[np.intp], size: int) -> Iterator[NDArray[np.intp]]:
    yield from (rows[at : at + size] for at in range(0, len(rows), size))


@dataclass(frozen=True, slots=True)
class _Answers:
    """Everything computed for n cases, from which each one's answer is put together."""

    bundle: Bundle
    model: Model
    cases: CaseTable
    gates: tuple[Verdicts, ...]
    log_odds: Floats
    bounds: Floats
    told: Account
    likes: tuple[Like, ...]
    lacking: NDArray[np.bool_]

    def of(self, case: int) -> RiskEstimate:
        """The answer for one case."""
        gates = tuple(gate.of(case) for gate in self.gates)
        shown = all(gate.passed or not gate.blocks for gate in gates)
        low, high = float(self.bounds[0, case]), float(self.bounds[1, case])
        log_odds = float(self.log_odds[case])
        return RiskEstimate(
            case_id=self.cases.keys[case],
            shown=shown,
            probability=float(expit(np.array(log_odds))) if shown else None,
            low=low if shown else None,
            high=high if shown else None,
            level=LEVEL,
            log_odds=log_odds if shown else None,
            base_log_odds=self.model.base_log_odds,
            cohort_rate=self.model.cohort_rate,
            contributions=lines(self.model, self.cases, self.told, case) if shown and self.model.signal else (),
            gates=gates,
            missing=self._missing(case, high - low),
            like_cases=self._like(case),
            published=None if shown else self.bundle.published,
        )

    def _missing(self, case: int, width: float) -> tuple[MissingValue, ...]:
        return what_measuring_buys(self.model, self.cases.take(np.array([case])), width) if self.lacking[case] else ()

    def _like(self, case: int) -> tuple[LikeCases, ...]:
        told = (like.of(case) for like in self.likes)
        return tuple(LikeCases(words, count_words(count)) for words, count in told)
