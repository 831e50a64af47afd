# make demo    make an environment, fetch the recognizer's weights, process the sample walk, show what it found
# make test    make an environment and run the tests (make slow-tests: those that decode sound or run for minutes)
# make check   lint, types, tests, and the built package installed bare
# make bench   the speed figures;   make score: the scores on the example walks, where they lie beside the checkout
# make lock    new requirements*.lock files;   make clean: away with all that was made here
# PYTHON=...   which Python makes the environment (3.11 or later);   VENV=...   where it goes

VENV ?= .venv
DEMO := demo-shop
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check
INTAKE := $(BIN)/intake

.PHONY: demo test check lint types tests slow-tests browser-tests wheel bench score lock model plates clean help
.DEFAULT_GOAL := help

help:
	@sed -n '/^# make/s/^# //p; /^# PYTHON/s/^# //p' Makefile

# ---- the environment: each stamp is newer than what it was made from, so a second call does nothing

$(BIN)/python:
	@python=$$(.ci/find-python $(PYTHON)) || exit 1; \
	echo "Making $(VENV) with $$python"; "$$python" -m venv --clear $(VENV)

$(VENV)/.run: requirements.lock | $(BIN)/python
	@echo "Installing what the program needs (a few minutes the first time)"
	@$(PIP) install -qq --require-hashes --no-deps -r requirements.lock
	@touch $@

$(VENV)/.package: pyproject.toml setup.py intake/__init__.py $(VENV)/.run
	@$(PIP) install -qq --no-deps --no-build-isolation --editable .
	@touch $@

$(VENV)/.dev: requirements-dev.lock $(VENV)/.run
	@echo "Installing what the checks need"
	@$(PIP) install -qq --require-hashes --no-deps -r requirements-dev.lock
	@touch $@

$(VENV)/.browser: requirements-browser.lock $(VENV)/.dev
	@$(PIP) install -qq --require-hashes --no-deps -r requirements-browser.lock
	@touch $@

# The reader for plates in photos is an extra: where it cannot be installed, all else works without it.
$(VENV)/.plates: requirements-plates.lock $(VENV)/.run
	@if $(PIP) install -qq --require-hashes --no-deps --only-binary=:all: -r requirements-plates.lock 2>$(VENV)/plates.log \
	    && $(BIN)/python -c 'import rapidocr' 2>>$(VENV)/plates.log; \
	then echo "Plates in photos will be read"; \
	else echo "Plates in photos will not be read (the optional reader does not fit this Python or system); all else works"; fi
	@touch $@

plates: $(VENV)/.plates

model: $(VENV)/.package
	@$(INTAKE) model fetch

# ---- what people call

demo: $(VENV)/.package $(VENV)/.plates model
	@samples/demo $(INTAKE) $(DEMO)

test: tests

tests: $(VENV)/.package $(VENV)/.dev
	$(BIN)/python -m pytest -q

slow-tests: $(VENV)/.package $(VENV)/.dev $(VENV)/.plates model
	$(BIN)/python -m pytest -q -m slow

# Needs Chromium, and axe-core (AXE_CORE names its axe.min.js) for the accessibility check; what is missing is skipped.
browser-tests: $(VENV)/.package $(VENV)/.browser
	$(BIN)/python -m pytest -q -rs tests/report/test_browser.py

check: lint types test wheel

lint: $(VENV)/.dev
	$(BIN)/python -m ruff check

types: $(VENV)/.package $(VENV)/.dev
	$(BIN)/python -m mypy
	MYPYPATH=bench:. $(BIN)/python -m mypy --explicit-package-bases bench/score.py bench/run_walks.py bench/speed.py

wheel: $(VENV)/.dev $(VENV)/.package
	.ci/wheel $(BIN)/python

bench: $(VENV)/.package $(VENV)/.dev model
	$(BIN)/python bench/speed.py

score: $(VENV)/.package $(VENV)/.dev model
	$(BIN)/python bench/run_walks.py --text --docs ../shared/walks/built
	$(BIN)/python bench/run_walks.py --sound --docs ../shared/walks/built

lock: | $(BIN)/python
	.ci/lock $(BIN)/python

clean:
	rm -rf $(VENV) build dist *.egg-info .mypy_cache .ruff_cache .pytest_cache .hypothesis bench/out
	@if [ -f $(DEMO)/config.toml ]; then rm -rf $(DEMO); fi
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
