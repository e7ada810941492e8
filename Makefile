# Everything a person does with a checkout. `make run` and `make test` need python3 (3.11 or newer)
# with its venv module, make, and the package index; all else is installed into .venv.

PYTHON ?= python3
WORKERS ?= 2

VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check install --quiet
OFFSCREEN := QT_QPA_PLATFORM=offscreen
QT_PACKAGES := libglib2.0-0 libgl1 libegl1 libxkbcommon0 libfontconfig1 libfreetype6 libdbus-1-3 \
	fonts-dejavu-core

.PHONY: run test lint format screens bench clean

# Without a screen this composes the demo documents into out/ instead, and says so.
run: $(VENV)/.installed
	@$(BIN)/opnote demo

test: lint
	$(OFFSCREEN) $(BIN)/python -m pytest -n $(WORKERS)
	$(OFFSCREEN) $(BIN)/python -m opnote.desk.screens --check-only

lint: $(VENV)/.installed-test
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/opnote lint

format: $(VENV)/.installed-test
	$(BIN)/ruff check --fix
	$(BIN)/ruff format

# Every page, dialog, menu and line of the window into screens/; fails on what can't be read or hit.
# `make test` looks for the same flaws and leaves the painting out.
screens: $(VENV)/.installed-test
	$(OFFSCREEN) $(BIN)/python -m opnote.desk.screens screens

bench: $(VENV)/.installed-test
	$(OFFSCREEN) $(BIN)/python tests/benchmarks/bench_window.py
	$(OFFSCREEN) $(BIN)/python tests/benchmarks/bench_entry.py
	$(OFFSCREEN) $(BIN)/python tests/benchmarks/bench_list.py

clean:
	rm -rf out screens build dist .mypy_cache .pytest_cache .ruff_cache .hypothesis \
		.import_linter_cache
	find opnote tests -name __pycache__ -type d -prune -exec rm -rf {} +

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "opnote needs Python 3.11 or newer: make PYTHON=python3.12 ..." >&2; exit 1; }
	$(PYTHON) -m venv $(VENV)

# Installed again only when what is to be installed has changed.
$(VENV)/.installed: pyproject.toml | $(BIN)/python
	$(PIP) --editable .
	$(look_for_qt)
	@touch $@

$(VENV)/.installed-test: pyproject.toml | $(BIN)/python
	$(PIP) --editable '.[test]'
	$(look_for_qt)
	@touch $(VENV)/.installed $@

# The one thing that pip can't bring along.
define look_for_qt
@$(BIN)/python -c 'import PySide6.QtWidgets' 2>/dev/null || { \
	echo "Qt needs libraries of the system. On Debian: apt-get install $(QT_PACKAGES)" >&2; }
endef
