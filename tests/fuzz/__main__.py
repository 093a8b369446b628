"""`python -m tests.fuzz cohort|bundle SECONDS [SEED]`: with atheris where it is installed, else a loop of our own.

A crash or an input that takes over 30 seconds is written to `build/fuzz/` and ends the run with a status above 0.
"""

import importlib.util
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from random import Random

LONGEST_SECONDS = 30
BUILT = Path("build") / "fuzz"


def own_loop(name: str, seconds: float, seed: int) -> int:
    """Mutate seeds and what became of them; returns how many inputs were read."""
    from tests.fuzz.seeds import seeds
    from tests.fuzz.targets import TARGETS

    read, mutant = TARGETS[name]
    rng, pool = Random(seed), seeds(name)  # noqa: S311 - mutants, not secrets
    honest, ends, tried = len(pool), time.monotonic() + seconds, 0
    signal.signal(signal.SIGALRM, _too_long)
    while time.monotonic() < ends:
        raw = mutant(rng.choice(pool), rng)
        tried += 1
        signal.alarm(LONGEST_SECONDS)
        try:
            read(raw)
        except Exception as error:
            _keep(name, raw, error)
            raise
        signal.alarm(0)
        pool = [*pool[:honest], *pool[honest:][-40:], raw] if tried % 10 == 0 else pool
    return tried


def _too_long(*_: object) -> None:
    raise TimeoutError(f"one input took over {LONGEST_SECONDS} seconds")


def _keep(name: str, raw: bytes, error: Exception) -> None:
    BUILT.mkdir(parents=True, exist_ok=True)
    path = BUILT / f"{name}-{Counter(raw).total()}-{type(error).__name__}"
    path.write_bytes(raw)
    sys.stderr.write(f"kept: {path}\n")


def with_atheris(name: str, seconds: int, seed: int) -> None:
    """Guided by coverage of our own code; does not return."""
    import atheris

    with atheris.instrument_imports(include=["riskmodel", "training"]):
        from tests.fuzz.seeds import seeds
        from tests.fuzz.targets import TARGETS
    read, mutant = TARGETS[name]

    def changed(data: bytes, largest: int, number: int) -> bytes:
        rng = Random(number)  # noqa: S311 - mutants, not secrets
        spoilt: bytes = mutant(data, rng) if rng.random() < 0.8 else atheris.Mutate(data, len(data))
        return spoilt[:largest]

    BUILT.mkdir(parents=True, exist_ok=True)
    corpus = Path(tempfile.mkdtemp(prefix=f"{name}_", dir=BUILT))
    for number, raw in enumerate(seeds(name)):
        (corpus / str(number)).write_bytes(raw)
    limits = (f"-max_total_time={seconds}", f"-timeout={LONGEST_SECONDS}", "-max_len=200000", "-rss_limit_mb=4096")
    options = [*limits, f"-seed={seed}", f"-artifact_prefix={BUILT}/{name}-", "-print_final_stats=1", "-verbosity=1"]
    atheris.Setup([sys.argv[0], *options, str(corpus)], read, custom_mutator=changed)
    atheris.Fuzz()


def main() -> None:
    """Fuzz one reader for so many seconds."""
    name, seconds, seed = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 1
    if importlib.util.find_spec("atheris"):
        with_atheris(name, seconds, seed)
    sys.stdout.write(f"{name}: {own_loop(name, seconds, seed):,} inputs in {seconds} seconds, no crash, no hang\n")


if __name__ == "__main__":
    main()
