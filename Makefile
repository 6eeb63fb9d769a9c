# Two commands for everybody: `make try` and `make test`. Each sets up all it needs in .venv.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
READY  := $(VENV)/.ready

.PHONY: try test lint types rules unit pictures bench clean
.DEFAULT_GOAL := try

$(READY): requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Rillkeeper needs Python 3.11 or newer; try: make PYTHON=python3.12 try"; exit 2; }
	@echo "Setting up $(VENV) (once, about a minute) ..."
	@$(PYTHON) -m venv --clear $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.lock
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $(READY)

try: $(READY)
	@$(BIN)/rillkeeper room

test: lint types rules unit

lint: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(READY)
	$(BIN)/mypy

rules: $(READY)
	$(BIN)/lint-imports

unit: $(READY)
	$(BIN)/pytest -n auto --dist worksteal

pictures: $(READY)
	$(BIN)/python -m demo.pictures

bench: $(READY)
	$(BIN)/python -m benchmarks

clean:
	rm -rf $(VENV) .room .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis build dist *.egg-info
