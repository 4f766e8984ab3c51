# Every command of the project. Needs git, make, Python 3.11 and pip; all else goes into .venv.
# `make demo` and `make test` are for newcomers, `make check` is what a change must pass.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(shell $(PYTHON) -m pip --version >/dev/null 2>&1 && echo $(PYTHON) -m pip || command -v pip || command -v pip3)
# The environment is made without pip, since ensurepip may be missing; the pip outside serves it.
INSTALL = $(PIP) --python $(BIN)/python install --quiet --disable-pip-version-check --no-input
JOBS ?= 2
COVERAGE := coverage.json

# Tests that boot a notebook in an emulator have a command of their own.
UNBOOTED := -m "not notebook"
# The depot's libraries make a process ten times as large, and whatever forks in it as slow.
DEPOT_TESTS := tests/depot $(wildcard tests/cli/test_depot_*.py)
# What sets documents keeps the last ten of them, a gigabyte, which every fork then pays for.
PAPER_TESTS := $(wildcard tests/report/test_document*.py) tests/report/test_label.py \
    tests/report/test_pades.py tests/report/test_accessibility.py tests/cli/test_document_command.py \
    tests/cli/test_label_command.py
APART := $(DEPOT_TESTS:%=--ignore=%) $(PAPER_TESTS:%=--ignore=%)
UNIT ?= fen-14

.PHONY: demo test spark check static format lint house types layers dead coverage thresholds wheel-test \
        notebook notebook-test matrix matrix-few suite-in-image suite-on-stick stick-test stick-proof ledger-proof failures rescues long fuzz manual schemas demo-units examples tidy clean
.NOTPARALLEL:

demo: $(VENV)/.runtime
	$(BIN)/closeout demo

test: $(VENV)/.dev
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) $(APART)
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) --cov-append $(PAPER_TESTS)
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) --cov-append $(DEPOT_TESTS)

# The stamps: made anew when the list of dependencies changes.
$(BIN)/python:
	$(PYTHON) -m venv --without-pip $(VENV)

$(VENV)/.runtime: pyproject.toml | $(BIN)/python
	@test -n "$(PIP)" || { echo "pip is missing: install the package python3-pip" >&2; exit 1; }
	$(INSTALL) --editable .
	@touch $@

$(VENV)/.dev: pyproject.toml | $(BIN)/python
	@test -n "$(PIP)" || { echo "pip is missing: install the package python3-pip" >&2; exit 1; }
	$(INSTALL) --editable '.[dev]'
	@touch $@ $(VENV)/.runtime

# Half a gigabyte, and it wants Java: the questions of a depot asked of Spark, which one test does.
spark: $(VENV)/.spark

$(VENV)/.spark: pyproject.toml $(VENV)/.dev
	$(INSTALL) --editable '.[dev,spark]'
	@touch $@

check: static coverage thresholds wheel-test

static: format lint house types layers dead

format: $(VENV)/.dev
	$(BIN)/ruff format --check

lint: $(VENV)/.dev
	$(BIN)/ruff check

house: $(VENV)/.dev
	$(BIN)/python tools/check_source.py

types: $(VENV)/.dev
	$(BIN)/mypy
	$(BIN)/mypy tools
	$(BIN)/basedpyright

layers: $(VENV)/.dev
	$(BIN)/lint-imports --no-cache --no-logo

dead: $(VENV)/.dev
	$(BIN)/vulture

coverage: $(VENV)/.dev
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) --cov --cov-report= $(APART)
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) --cov --cov-append --cov-report= $(PAPER_TESTS)
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) --cov --cov-append --cov-report=json:$(COVERAGE) $(DEPOT_TESTS)

thresholds: $(VENV)/.dev
	$(BIN)/python tools/check_coverage.py $(COVERAGE)

wheel-test: $(VENV)/.dev
	PIP="$(PIP)" JOBS=$(JOBS) bash tools/wheel_test $(BIN)/python

# A notebook in an emulator: a shell in it, or one program.
#   make notebook UNIT=osier-15 RUN="closeout check --out /tmp/reports"
notebook: $(VENV)/.dev
	$(BIN)/python tests/notebook boot $(UNIT) $(if $(RUN),-- $(RUN))

# Booted tests: all of them, which takes six minutes, or some: BOOTED="demo_units docked_in_guest".
BOOTED ?=
notebook-test: $(VENV)/.dev
	$(BIN)/pytest -n $(JOBS) --dist loadgroup -m notebook \
	    $(if $(BOOTED),$(BOOTED:%=tests/notebook/test_%.py),tests/notebook)

# The stick started in the emulator.
stick-test: $(VENV)/.dev
	$(BIN)/pytest -n $(JOBS) --dist loadgroup -m "notebook and not thorough" tests/media

# What the stick has to bear, one long start each: bad sticks, a killed session, planted writes.
stick-proof: $(VENV)/.dev
	$(BIN)/pytest -n $(JOBS) --dist loadgroup -m thorough

# The ledger of a depot killed hundreds of times while it takes reports in, on a file and on a server.
KILLS ?= 300
ledger-proof: $(VENV)/.dev
	CLOSEOUT_LEDGER_KILLS=$(KILLS) CLOSEOUT_LEDGER_STICK=10000 \
	    $(BIN)/pytest -n $(JOBS) tests/depot -k "killed or stick_with"

# Planted faults: whether the agent in a booted notebook names exactly those. All of them, or the few
# that stand for all; one by its name: `make matrix FAULTS=osier-15/fan-stopped`.
FAULTS ?=
matrix: $(VENV)/.dev
	$(BIN)/python tests/notebook faults $(FAULTS) $(if $(FAULTS),,--table docs/fault-matrix.md)

matrix-few: $(VENV)/.dev
	$(BIN)/python tests/notebook faults --few

# The same tests on the Python of the system that the stick is made of, and in the stick's own root.
suite-in-image: $(VENV)/.dev
	$(BIN)/python tests/notebook suite -- --hypothesis-profile=few $(TESTS)

suite-on-stick: $(VENV)/.dev
	$(BIN)/python tests/media suite -- --hypothesis-profile=few $(TESTS)

# Every reading of every demo unit failed in every way; then each error handler taken out.
failures: $(VENV)/.dev
	PYTHONPATH=tests $(BIN)/python -m failures

NEAR_READINGS := $(addprefix tests/,kernel readers decode judge failures test_check.py test_live.py)
rescues: $(VENV)/.dev
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) --cov --cov-context=test --cov-report= $(NEAR_READINGS)
	$(BIN)/python tools/remove_rescues.py

# Hours: property tests with fifty times the examples, then each decoder and each stranger's file
# fuzzed for SECONDS (`make fuzz TARGETS="decode_edid report" SECONDS=600`).
long: $(VENV)/.dev
	$(BIN)/pytest -n $(JOBS) $(UNBOOTED) --hypothesis-profile=long
	$(MAKE) fuzz

SECONDS ?= 300
fuzz: $(VENV)/.dev
	$(INSTALL) --editable '.[fuzz]'
	cd tests && ../$(BIN)/python -m fuzz $(SECONDS) $(TARGETS)

# What is written by tools and kept: tests say when it is out of date.
manual: $(VENV)/.dev
	$(BIN)/python tools/generate_manual.py

schemas: $(VENV)/.dev
	$(BIN)/python tools/generate_schemas.py
	$(BIN)/python tools/parse_shipped.py

demo-units: $(VENV)/.dev
	$(BIN)/python tools/capture_demo_units.py

examples: $(VENV)/.dev
	$(BIN)/python tools/make_examples.py

tidy: $(VENV)/.dev
	$(BIN)/ruff format
	$(BIN)/ruff check --fix

clean:
	rm -rf $(VENV) .coverage .coverage.* coverage.json .mypy_cache .ruff_cache .pytest_cache .hypothesis
