# Everything starts from a plain python3 (3.11 or later) with pip; nothing else is needed beforehand.
# Every target makes the environment that it needs; the environment is made anew when a lock changes.

PYTHON ?= python3
VENV := .venv
RUN := $(VENV)/bin/python
STAMP := $(VENV)/.made
EXTRA := .venv-extra
EXTRA_STAMP := $(EXTRA)/.made
FAST := not slow and not recovery and not browser

# Tests compute on one BLAS thread: same digits everywhere, and two workers on two cores do not fight.
ONE_THREAD := OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 MKL_NUM_THREADS=1 VECLIB_MAXIMUM_THREADS=1

.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
.PHONY: help venv lock lint types imports test browser test-slow check demo demo-full cards recovery recovery-report bench kill fuzz packaging mutants extra wheel clean

help:  ## this list
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  %-12s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

venv: $(STAMP)  ## make .venv from the lock

$(STAMP): requirements.lock
	@bash scripts/venv.sh $(VENV) requirements.lock $(PYTHON)

lock:  ## resolve both locks anew (needs the net)
	@bash scripts/lock.sh $(PYTHON)

lint: $(STAMP)  ## style: ruff check and ruff format
	$(RUN) -m ruff check .
	$(RUN) -m ruff format --check .

types: $(STAMP)  ## mypy, strict
	$(RUN) -m mypy

imports: $(STAMP)  ## the arrows between packages and layers
	$(VENV)/bin/lint-imports --no-cache

test: $(STAMP)  ## the fast tests
	$(ONE_THREAD) $(RUN) -m pytest -n 2 --dist worksteal -q -m "$(FAST)"

browser: $(STAMP)  ## the app in a real browser; fails, never skips, without Debian's chromium
	@command -v chromium >/dev/null || { echo "chromium is missing: apt-get install chromium" >&2; exit 1; }
	$(ONE_THREAD) $(RUN) -m pytest -n 2 --dist worksteal -q -m browser tests/browser

test-slow: $(STAMP)  ## the slow tests and the recovery of known truth
	$(ONE_THREAD) $(RUN) -m pytest -n 2 -q -m "slow or recovery"

check: lint types imports test browser  ## all that a change must pass

demo: $(STAMP)  ## the whole way on the invented cohort; writes demo/
	$(RUN) -m training demo

demo-full: $(STAMP)  ## the demonstration with the long protocols
	$(RUN) -m training demo --full

cards: demo  ## the committed model cards, made anew
	cp demo/*_24m/*.card.json demo/*_24m/*.card.md demo/*_24m/*.card.html model_cards/

kill: $(STAMP)  ## kill the program two hundred times while it keeps answers; nothing confirmed may be lost
	$(RUN) -m tests.kill

recovery: $(STAMP)  ## the study with known truth, about two hours; goes on where it stopped
	$(ONE_THREAD) $(RUN) -m tests.recovery --workers 2
	$(ONE_THREAD) $(RUN) -m tests.recovery.type_one_error wald
	$(ONE_THREAD) $(RUN) -m tests.recovery.type_one_error bootstrap

recovery-report: $(STAMP)  ## tables and pictures of docs/recovery.md from docs/recovery/*.csv
	$(RUN) -m tests.recovery.report

mutants: $(STAMP)  ## plant 300 faults in the numerical core, one at a time; says which of them the tests miss
	$(ONE_THREAD) $(RUN) -m tests.mutation

fuzz: $(EXTRA_STAMP)  ## ten minutes of strange bytes for each of the two readers of strangers' files
	$(ONE_THREAD) $(EXTRA)/bin/python -m tests.fuzz cohort 600
	$(ONE_THREAD) $(EXTRA)/bin/python -m tests.fuzz bundle 600

packaging: $(STAMP)  ## wheel and sdist in empty environments, lowest and newest dependencies; needs the net
	$(ONE_THREAD) $(RUN) -m pytest -q -m slow tests/packaging

bench: $(STAMP)  ## how fast replays, scoring and the app are; some minutes, on a machine that does nothing else
	$(RUN) -m tests.bench

extra: $(EXTRA_STAMP)  ## .venv-extra, with the heavy oracles and tools as well

$(EXTRA_STAMP): requirements-extra.lock
	@bash scripts/venv.sh $(EXTRA) requirements-extra.lock $(PYTHON)

wheel: $(STAMP)  ## build dist/*.whl and dist/*.tar.gz
	$(RUN) -m hatchling build

clean:  ## remove what was built, and the environments
	rm -rf $(VENV) $(EXTRA) build dist demo mutants
	rm -rf .hypothesis .import_linter_cache .mypy_cache .pytest_cache .ruff_cache
