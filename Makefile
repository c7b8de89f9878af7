# The two commands of the README, and what contributors use. Each may be run twice.
PYTHON ?= python3
BIN := .venv/bin
PORT ?= 8000
# A file's tests run in one process, so that what they share is made once.
PYTEST := $(BIN)/python -m pytest -n auto --dist loadfile --no-loadscope-reorder
POSTGRES ?= postgres://postgres@127.0.0.1:5432/postgres

.PHONY: demo test test-postgres test-long test-failures check lock install serve clean-demo

.venv/.installed: requirements-dev.txt
	$(PYTHON) -m venv .venv
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.txt
	touch $@

install: .venv/.installed

demo: install  ## a database with invented families, and the site on this machine
	$(BIN)/python manage.py migrate --verbosity 0
	$(BIN)/python manage.py collectstatic --noinput --verbosity 0
	$(BIN)/python manage.py demo --port $(PORT)

test: install  ## every test; the browser's are skipped, loudly, where there is no chromium
	$(PYTEST)

# Django makes and removes databases of its own beside the one that is named. Rules, files and looks need no second run.
test-postgres: install  ## the tests that touch a database, on PostgreSQL: DATABASE_URL, or one on this machine
	DATABASE_URL="$${DATABASE_URL:-$(POSTGRES)}" $(PYTEST) \
	    --ignore=tests/competency --ignore=tests/naive --ignore=tests/programmes \
	    --ignore=tests/browser/test_every_page.py

test-long: install
	$(BIN)/python -m pytest -n auto -m "long or not long"

test-failures: install  ## killed processes, full disks, many writers at once: the long runs, one after another, with figures
	$(BIN)/python -m pytest tests/failures -m "long or not long"

check: install  ## linters, types, the one-way imports
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python manage.py makemigrations --check --dry-run

lock:  ## needs uv; writes hashes and no addresses
	uv pip compile --quiet --upgrade --no-strip-extras --universal --python-version 3.11 --generate-hashes --no-header --no-annotate --no-emit-index-url requirements.in -o requirements.txt
	uv pip compile --quiet --no-strip-extras --universal --python-version 3.11 --generate-hashes --no-header --no-annotate --no-emit-index-url requirements-dev.in -o requirements-dev.txt
