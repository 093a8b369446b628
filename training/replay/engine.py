"""Run the replays, on as many workers as wanted, with the same result for any number of them."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence

import numpy as np
from joblib import Parallel, delayed
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from riskmodel.cases.table import Floats
from riskmodel.model import Stability
from training.candidates import Candidate, Fitted, chosen
from training.cohort import Cohort
from training.features import Declared, declare, learn
from training.metrics import MEASURE_NAMES, measures
from training.outcome import Outcome, at_horizon
from training.protocol import Protocol
from training.replay.grid import grid
from training.replay.one import Replay, Study, replay
from training.replay.result import ReplayResult, correct, without_information

# Replays handed to a worker at once: few enough for the bar to move, enough to outweigh the handing over.
CHUNK = 10

Progress = Callable[[int], object]


def prepare(
    cohort: Cohort,
    protocol: Protocol,
    *,
    candidate: Candidate | None = None,
    declared: Declared | None = None,
    smooth: bool = False,
) -> Study:
    """Everything that the replays share, decided on the original cohort."""
    declared = declare(cohort, protocol) if declared is None else declared
    return Study(
        cohort=cohort,
        protocol=protocol,
        declared=declared,
        outcome=at_horizon(cohort, protocol),
        candidate=chosen(protocol) if candidate is None else candidate,
        counted=cohort.course.known.astype(np.int64),
        grids=tuple(grid(term, cohort) for term in declared.recipe.terms),
        smooth=smooth,
    )


def run(
    study: Study,
    *,
    times: int,
    rng: np.random.Generator,
    workers: int = 1,
    resamples: NDArray[np.integer] | None = None,
    progress: Progress | None = None,
) -> ReplayResult:
    """Replay the whole pipeline on bootstrap samples of the children.

    Parameters
    ----------
    study
        What `prepare` made of cohort and protocol.
    times
        Number of replays, B.
    rng
        Replay b uses child b of this generator: the result does not depend on `workers`.
    workers
        Processes; 1 = in this one.
    resamples
        (B, n) row numbers of saved samples, in place of drawing them.
    progress
        Called with the number of replays just finished.
    """
    fitted = _original(study, rng)
    tasks = list(_tasks(len(study.cohort), times, rng, resamples))
    replays = list(_all(study, tasks, workers, progress or (lambda _: None)))
    return _summary(study, fitted, replays)


Task = tuple[NDArray[np.int64], np.random.Generator]


def _tasks(
    children: int, times: int, rng: np.random.Generator, resamples: NDArray[np.integer] | None
) -> Iterator[Task]:
    own = rng.spawn(times if resamples is None else len(resamples))
    for b, stream in enumerate(own):
        rows = stream.integers(0, children, children) if resamples is None else resamples[b]
        yield np.bincount(rows, minlength=children).astype(np.int64), stream


def _all(study: Study, tasks: Sequence[Task], workers: int, progress: Progress) -> Iterator[Replay]:
    chunks = [tasks[at : at + CHUNK] for at in range(0, len(tasks), CHUNK)]
    run_chunks = Parallel(n_jobs=workers, return_as="generator")
    for done in run_chunks(delayed(_chunk)(study, chunk) for chunk in chunks):
        progress(len(done))
        yield from done


def _chunk(study: Study, tasks: Sequence[Task]) -> list[Replay]:
    # One thread each: the matrices are small, and sums in a fixed order give the same bytes everywhere.
    with threadpool_limits(limits=1):
        return [replay(study, counts, stream) for counts, stream in tasks]


def _original(study: Study, rng: np.random.Generator) -> Fitted:
    design = learn(study.cohort, study.protocol, declared=study.declared)
    counts = np.ones(len(study.cohort))
    return study.candidate.fit(design, study.cohort, study.outcome, counts=counts, rng=rng)


def _summary(study: Study, fitted: Fitted, replays: Sequence[Replay]) -> ReplayResult:
    outcome: Outcome = study.outcome
    p = fitted.probability
    apparent = measures(outcome.label, p, outcome.weight, counts=study.counted, smooth=study.smooth)
    uninformed = without_information(outcome, p, study.counted)
    values = np.stack([each.values for each in replays])
    per_replay = {name: values[:, :, m] for m, name in enumerate(MEASURE_NAMES)}
    worked = [each for each in replays if each.failed is None]
    predictions = np.stack([each.probability for each in replays])
    return ReplayResult(
        apparent=apparent,
        measures={
            name: correct(name, measure, per_replay[name], uninformed.get(name)) for name, measure in apparent.items()
        },
        per_replay=per_replay,
        predictions=predictions,
        per_child_instability=_instability(predictions, p),
        stability=_stability(study, worked),
        shrunk_to_rate=float(np.mean([each.shrunk for each in worked])) if worked else 0.0,
        failed=Counter(each.failed for each in replays if each.failed is not None),
        times=len(replays),
    )


def _instability(predictions: Floats, p: Floats) -> Floats:
    worked = predictions[~np.isnan(predictions).any(axis=1)]
    return np.abs(worked - p).mean(axis=0) if len(worked) else np.zeros(len(p))


def _stability(study: Study, worked: Sequence[Replay]) -> tuple[Stability, ...]:
    if not worked or not len(worked[0].positive):
        return ()
    share = np.mean([each.positive for each in worked], axis=0)
    parts = np.split(share, np.cumsum([len(points) for points in study.grids])[:-1])
    return tuple(
        Stability(term.name, points, part)
        for term, points, part in zip(study.declared.recipe.terms, study.grids, parts, strict=True)
    )
