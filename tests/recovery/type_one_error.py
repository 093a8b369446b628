"""How often the closed test changes a model that is right, in simulated cohorts with censoring and competing ends.

`python -m tests.recovery.type_one_error wald|bootstrap [--cohorts N] [--out FILE]`: one line of CSV a cohort. A file
that is there is gone on with, so that a study may be stopped and taken up again; without `--out` it is the one that is
kept in docs/recovery. The world is made here, by nothing of the project: risks of a logistic model known exactly, times
and losses drawn beside them.
"""

import argparse
import csv
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.special import expit

from tests.training.builders import cohort, timed
from training.outcome import at_horizon
from training.updating.closed_test import Branch, Trial, closed_test
from training.updating.likelihood import Sample
from training.updating.simulate import simulator

KEPT = Path(__file__).parents[2] / "docs" / "recovery"
HORIZON = 24.0
SEED = 20261125
COEFFICIENTS = np.array([0.8, -0.5])


@dataclass(frozen=True, slots=True)
class Study:
    """A size of cohort, how many of them, and the draws of the bootstrap where there are few events."""

    children: int
    intercept: float
    cohorts: int
    draws: int


# About 50 known events (20 are needed for the Wald test of two parameters), and about 12.
STUDIES = {"wald": Study(500, -2.2, 1000, 0), "bootstrap": Study(130, -2.5, 300, 199)}
FIELDS = ("cohort", "events", "chosen", "judge", "p_value")


def one(study: Study, number: int, *, shift: float = 0.0) -> dict[str, object]:
    """Draw cohort `number`, in which the model is exactly right but for `shift` of its level, and test it."""
    rng = np.random.default_rng([SEED, study.children, number])
    columns = rng.standard_normal((study.children, 2))
    log_odds = study.intercept + columns @ COEFFICIENTS
    status, months = courses(expit(log_odds + shift), rng)
    held, protocol = cohort(months, status), timed(HORIZON, window=2.0)
    outcome = at_horizon(held, protocol)
    trial = Trial(
        sample=Sample(outcome.label, outcome.weight),
        log_odds=log_odds,
        columns=columns,
        coefficients=COEFFICIENTS,
        fixed=np.zeros(study.children),
        simulate=simulator(held, protocol, outcome),
    )
    found = closed_test(trial, refit=False, rng=rng, draws=study.draws)
    first = found.tests[0]
    return dict(
        zip(FIELDS, (number, outcome.events, found.chosen.value, first.judge.value, first.p_value), strict=True)
    )


def courses(risk: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Status and months: the event within the horizon with these risks, found at visits; others lost at any time."""
    children = len(risk)
    event = rng.random(children) < risk
    visits = np.array([1.5, 3.0, 6.0, 12.0, 23.0])
    ends = np.where(event, rng.choice(visits, children, p=[0.1, 0.15, 0.25, 0.3, 0.2]), np.inf)
    competing = ~event & (rng.random(children) < 0.04)
    ends[competing] = rng.uniform(1.0, HORIZON, competing.sum())
    lost = np.where(rng.random(children) < 0.3, rng.uniform(3.0, 36.0, children), rng.uniform(23.0, 80.0, children))
    free = lost < ends
    return np.where(free, 0, np.where(event, 1, 2)), np.minimum(ends, lost)


def kept(name: str) -> Path:
    """The file of a study that is kept with the project."""
    return KEPT / f"type_one_error_{name}.csv"


def changed_share(path: Path) -> tuple[int, float]:
    """Cohorts done, and the share of them whose model was changed."""
    with path.open(encoding="utf-8") as file:
        chosen = [row["chosen"] for row in csv.DictReader(file)]
    return len(chosen), float(np.mean([word != Branch.ORIGINAL.value for word in chosen])) if chosen else float("nan")


def go_on(study: Study, path: Path, cohorts: int) -> None:
    """Add the cohorts that the file does not hold yet."""
    new = not path.exists()
    done = 0 if new else changed_share(path)[0]
    with path.open("a", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, FIELDS, lineterminator="\n")
        if new:
            writer.writeheader()
        for number in range(done, cohorts):
            writer.writerow(one(study, number))
            file.flush()


def main(arguments: list[str]) -> int:
    """Run a study, or go on with one, and say what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("study", choices=sorted(STUDIES))
    parser.add_argument("--cohorts", type=int)
    parser.add_argument("--out", type=Path, default=None)
    asked = parser.parse_args(arguments)
    study = STUDIES[asked.study]
    path = asked.out or kept(asked.study)
    go_on(study, path, asked.cohorts or study.cohorts)
    done, share = changed_share(path)
    sys.stdout.write(f"{asked.study}: {done} cohorts, a right model was changed in {share:.1%} (5% wanted)\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
