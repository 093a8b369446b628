"""Run the replays, on as many workers as wanted, with the same result for any number of them."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from joblib import Parallel, delayed
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from riskmodel.cases.table import CaseTable, Floats
from riskmodel.errors import FitRefused
from riskmodel.model import Stability
from training import features
from training.candidates import Candidate, Fitted, chosen
from training.cohort import Cohort
from training.features import Declared, declare
from training.metrics import MEASURE_NAMES, measures
from training.outcome import Outcome, at_horizon
from training.protocol import Protocol
from training.replay.grid import grid
from training.replay.one import Replay, Study, replay
from training.replay.result import NotReplayed, ReplayResult, correct, without_information

# Replays handed to a worker at once: few enough for the bar to move, enough to outweigh the handing over.
CHUNK = 10

Progress = Callable[[int], object]


def prepare(
    cohort: Cohort,
    protocol: Protocol,
    *,
    candidates: Sequence[Candidate] = (),
    declared: Declared | None = None,
    smooth: bool = False,
) -> Study:
    """Everything that the replays share, decided on the original cohort.

    Parameters
    ----------
    candidates
        What is replayed, the one to ship first; by default the protocol's choice alone.
    smooth
        Whether every replay makes the measures that need the smooth calibration curve as well.
    """
    declared = declare(cohort, protocol) if declared is None else declared
    slim = _slim(cohort, declared)
    return Study(
        cohort=slim,
        protocol=protocol,
        prepared=features.prepare(slim, protocol, declared),
        outcome=at_horizon(cohort, protocol),
        candidates=tuple(candidates) or (chosen(protocol),),
        counted=cohort.course.known.astype(np.int64),
        grids=tuple(grid(term, cohort) for term in declared.recipe.terms),
        smooth=smooth,
    )


def _slim(cohort: Cohort, declared: Declared) -> Cohort:
    """The cohort with no column but those that terms and completions read: the rest only costs time in every replay."""
    recipe = declared.recipe
    read = dict.fromkeys((*recipe.sources, *(name for term in recipe.terms for name in term.variables)))
    kept = CaseTable(cohort.cases.keys, {name: cohort.cases[name] for name in read})
    return replace(cohort, cases=kept, definitions={}, findings=())


def run(
    study: Study,
    *,
    times: int,
    rng: np.random.Generator,
    workers: int = 1,
    resamples: NDArray[np.integer] | None = None,
    progress: Progress | None = None,
) -> ReplayResult:
    """Replay the candidate to ship alone; the parameters are those of `run_all`.

    Raises
    ------
    FitRefused
        As `run_all`.
    """
    alone = replace(study, candidates=study.candidates[:1])
    (found,) = run_all(alone, times=times, rng=rng, workers=workers, resamples=resamples, progress=progress)
    if not isinstance(found, ReplayResult):
        raise FitRefused(found.reason)
    return found


def run_all(
    study: Study,
    *,
    times: int,
    rng: np.random.Generator,
    workers: int = 1,
    resamples: NDArray[np.integer] | None = None,
    progress: Progress | None = None,
) -> tuple[ReplayResult | NotReplayed, ...]:
    """Replay the whole pipeline on bootstrap samples of the children: one result per candidate of the study.

    A candidate that cannot be fitted to the cohort itself is not replayed, and its reason stands in its place.

    Parameters
    ----------
    study
        What `prepare` made of cohort and protocol.
    times
        Number of replays, B.
    rng
        Replay b uses a child of this generator, so that the result does not depend on `workers`.
    workers
        Processes; 1 = in this one.
    resamples
        (B, n) row numbers of saved samples, in place of drawing them.
    progress
        Called with the number of replays just finished.

    Raises
    ------
    FitRefused
        When the candidate to ship, the first, gives no finite fit to the cohort itself.
    """
    fits = _originals(study, rng)
    warm = tuple(held.warmed(fit) for held, fit in _paired(study, fits) if isinstance(fit, Fitted))
    tasks = list(_tasks(len(study.cohort), times, rng, resamples))
    replays = list(_all(replace(study, candidates=warm), tasks, workers, progress or (lambda _: None)))
    rows = iter(zip(*replays, strict=True))
    return tuple(
        _summary(study, held.name, fit, [each for each in next(rows) if each is not None])
        if isinstance(fit, Fitted)
        else fit
        for held, fit in _paired(study, fits)
    )


Task = tuple[int, NDArray[np.int64], np.random.Generator]


def _tasks(
    children: int, times: int, rng: np.random.Generator, resamples: NDArray[np.integer] | None
) -> Iterator[Task]:
    own = rng.spawn(times if resamples is None else len(resamples))
    for b, stream in enumerate(own):
        rows = stream.integers(0, children, children) if resamples is None else resamples[b]
        yield b, np.bincount(rows, minlength=children).astype(np.int64), stream


def _all(study: Study, tasks: Sequence[Task], workers: int, progress: Progress) -> Iterator[tuple[Replay | None, ...]]:
    chunks = [tasks[at : at + CHUNK] for at in range(0, len(tasks), CHUNK)]
    run_chunks = Parallel(n_jobs=workers, return_as="generator")
    for done in run_chunks(delayed(_chunk)(study, chunk) for chunk in chunks):
        progress(len(done))
        yield from done


def _chunk(study: Study, tasks: Sequence[Task]) -> list[tuple[Replay | None, ...]]:
    # One thread each: the matrices are small, and sums in a fixed order give the same bytes everywhere.
    with threadpool_limits(limits=1):
        return [replay(study, number, counts, stream) for number, counts, stream in tasks]


def _originals(study: Study, rng: np.random.Generator) -> list[Fitted | NotReplayed]:
    """Every candidate on the cohort itself, each with a stream of its own; the first must be fitted."""
    design = study.prepared.design()
    counts = np.ones(len(study.cohort))
    # A generator of their own: however many candidates there are, replay b draws the same children.
    streams = rng.spawn(1)[0].spawn(len(study.candidates))
    found: list[Fitted | NotReplayed] = []
    for held, own in zip(study.candidates, streams, strict=True):
        try:
            if (lacks := held.lacking(study.outcome)) is not None:
                raise FitRefused(lacks)
            found.append(held.fit(design, study.cohort, study.outcome, counts=counts, rng=own))
        except FitRefused as refused:
            if not found:
                raise
            found.append(NotReplayed(held.name, str(refused)))
    return found


def _paired(study: Study, fits: list[Fitted | NotReplayed]) -> Iterator[tuple[Candidate, Fitted | NotReplayed]]:
    yield from zip(study.candidates, fits, strict=True)


def _summary(study: Study, name: str, fitted: Fitted, replays: Sequence[Replay]) -> ReplayResult:
    outcome: Outcome = study.outcome
    p = fitted.probability
    apparent = measures(outcome.label, p, outcome.weight, counts=study.counted, smooth=study.smooth)
    uninformed = without_information(outcome, p, study.counted)
    values = np.stack([each.values for each in replays])
    per_replay = {name: values[:, :, m] for m, name in enumerate(MEASURE_NAMES)}
    worked = [each for each in replays if each.failed is None]
    predictions = np.stack([each.probability for each in replays])
    return ReplayResult(
        name=name,
        fitted=fitted,
        apparent=apparent,
        measures={
            name: correct(name, measure, per_replay[name], uninformed.get(name)) for name, measure in apparent.items()
        },
        per_replay=per_replay,
        predictions=predictions,
        drawn=np.stack([each.drawn for each in replays]),
        per_child_instability=_instability(predictions, p),
        stability=_stability(study, worked),
        shrunk_to_rate=float(np.mean([each.shrunk for each in worked])) if worked else 0.0,
        chosen=Counter(each.chosen for each in worked),
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
        for term, points, part in zip(study.prepared.declared.recipe.terms, study.grids, parts, strict=True)
    )
