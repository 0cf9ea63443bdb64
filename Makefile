# `make` alone shows what there is.
PYTHON ?= python3
BIN := .venv/bin
export DEBUG ?= 1

.DEFAULT_GOAL := help
.PHONY: help setup demo serve test check fix bench golden screenshots lock clean

help: ## show this list
	@grep -E '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## /\t/' | expand -t 14

.venv/.runs: pyproject.toml requirements.lock
	@echo "== Python packages (a minute on the first run)"
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed.")'
	@test -x $(BIN)/python || $(PYTHON) -m venv .venv
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -c requirements.lock -e .
	@touch $@

.venv/.tests: .venv/.runs
	@echo "== Python packages for the tests"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -c requirements.lock -e '.[dev,postgres]'
	@touch $@

setup: .venv/.runs ## make the virtual environment and install what the service needs
	@.ci/system print

demo serve screenshots: export SOCIETY_NAME ?= Quillfeather Primula Fellowship

demo: setup ## the invented society on 127.0.0.1:8000, with one finished exchange and its slips
	@$(BIN)/python manage.py demo

serve: setup ## the site again, with whatever the demo's database holds now
	@$(BIN)/python manage.py runserver 127.0.0.1:8000

test: .venv/.tests ## the whole suite, on SQLite and on PostgreSQL, with Chromium
	@.ci/system print
	@.ci/system chromium
	@.ci/system postgresql
	@.ci/suite

check: .venv/.tests ## look, types, walls, migrations and templates
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy crosses seedbank
	$(BIN)/lint-imports
	$(BIN)/python manage.py makemigrations --check --dry-run
	$(BIN)/djlint templates --lint --quiet
	@echo "All checks hold."

fix: .venv/.tests ## set the look right
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

bench: .venv/.tests ## the benchmarks, beside a plain alternative each
	$(BIN)/python -m tests.bench

golden: .venv/.tests ## write the golden answers anew; read the difference before you commit it
	GOLDEN=write $(BIN)/python -m pytest tests/golden tests/architecture/test_access_table.py -q

screenshots: .venv/.tests ## the pictures of the README, from the demo, by Chromium
	$(BIN)/python manage.py screenshots

lock: .venv/.tests ## pin every version anew
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --no-emit-index-url --no-header --no-annotate \
	  --extra dev --extra postgres --upgrade pyproject.toml -o requirements.lock

clean: ## forget what runs have written
	rm -rf var .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
