# make demo    the example job, analysed, with its findings and both pages
# make test    everything: check, slow tests, a fixed part of the statistical proof
# make check   before each commit: lint, types, the everyday tests
# make bench   the benchmarks, as ratios
# make help    this list and the rest

PYTHON ?= python3
VENV ?= .venv
PYTEST ?=
WORKERS ?= 2
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check
CODE := src tests validation benchmarks docs

.PHONY: help setup demo demo-real lint types everyday check test bench validate validate-check \
        soak pins schemas help-text pictures screens notice clean

help:
	@echo "demo          the example job, analysed, with its findings and both pages, in ./demo"
	@echo "demo-real     the same for an open recording of a real engine"
	@echo "test          everything: check, slow tests, a fixed part of the statistical proof"
	@echo "check         before each commit: lint, types, the everyday tests"
	@echo "bench         the benchmarks, as ratios"
	@echo "validate      the whole statistical proof (about 20 minutes)"
	@echo "soak          the fixed part of the proof again and again, until stopped"
	@echo "pins          requirements/*.txt afresh"
	@echo "schemas       the JSON Schemas that ship with the package, afresh"
	@echo "help-text     what --help prints, afresh from the options"
	@echo "pictures      the pictures in docs/pictures and what the pages print from tables, afresh"
	@echo "screens       every screen of the app at three widths, light and dim, in ./screens"
	@echo "notice        NOTICE, afresh from the installed packages"

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: requirements/build.txt requirements/run.txt pyproject.toml | $(VENV)/bin/python
	$(PIP) --require-hashes -r requirements/build.txt
	$(PIP) --require-hashes -r requirements/run.txt
	$(PIP) --no-deps --no-build-isolation --editable .
	@touch $@

$(VENV)/.dev: requirements/dev.txt $(VENV)/.run
	$(PIP) --require-hashes -r requirements/dev.txt
	@touch $@

setup: $(VENV)/.dev

demo: $(VENV)/.run
	$(BIN)/gaugewright demo

demo-real: $(VENV)/.run
	$(BIN)/gaugewright demo --real

lint: $(VENV)/.dev
	$(BIN)/ruff check $(CODE)
	$(BIN)/ruff format --check $(CODE)

types: $(VENV)/.dev
	$(BIN)/mypy

everyday: $(VENV)/.dev
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadgroup -m "not slow" $(PYTEST)

check: lint types everyday

test: lint types
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadgroup $(PYTEST)

bench: $(VENV)/.dev
	@for bench in $$(ls benchmarks/*.py | grep -v '/_'); do \
	  echo "== $$bench"; $(BIN)/python $$bench || exit 1; done

validate: $(VENV)/.dev
	$(BIN)/python -m validation.run
	$(BIN)/python -m validation.physics
	$(BIN)/python -m validation.causes.run

validate-check: $(VENV)/.dev
	$(BIN)/python -m validation.run --shard fixed --check
	$(BIN)/python -m validation.physics --check

soak: $(VENV)/.dev
	@while $(BIN)/python -m validation.run --shard fixed --check; do date; done

COMPILE := $(BIN)/pip-compile --quiet --generate-hashes --allow-unsafe --strip-extras --no-header \
           --no-annotate --no-emit-index-url --no-emit-trusted-host --no-emit-find-links
pins: $(VENV)/.dev
	$(COMPILE) -o requirements/build.txt requirements/build.in
	$(COMPILE) -o requirements/run.txt pyproject.toml
	$(COMPILE) -o requirements/dev.txt requirements/dev.in

schemas: $(VENV)/.dev
	$(BIN)/python -m gaugewright.job.schema
	$(BIN)/python -m gaugewright.analysis.findings_schema
	$(BIN)/python -m gaugewright.job.schema

help-text: $(VENV)/.run
	$(BIN)/python -m gaugewright.cli.options > .help-text
	mv .help-text src/gaugewright/cli/help.txt

pictures: $(VENV)/.dev
	$(BIN)/python docs/pictures/make.py
	$(BIN)/python docs/reference/causes.py
	$(BIN)/python docs/explanation/which_cause.py

screens: $(VENV)/.dev
	$(BIN)/python -m tests.web.screens screens

notice: $(VENV)/.dev
	$(BIN)/python tests/house/notice.py > NOTICE

clean:
	rm -rf $(VENV) build dist demo
