# Everything a person or a machine does with this project. `make` alone lists it.

PYTHON ?= $(shell command -v python3.11 || command -v python3)
VENV ?= .venv
RUN_VENV ?= .venv-run
BIN = $(VENV)/bin
WORKERS ?= 2
ARGS ?=

.DEFAULT_GOAL := help
.PHONY: help demo dev test check bench truth lock clean
.PHONY: check-format check-lint check-types check-rooms check-pages

help:  ## list what can be made
	@grep -hE '^[a-z]+: .*## ' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## /\t/' | while IFS="$$(printf '\t')" read -r name text; do printf '  make %-8s %s\n' "$$name" "$$text"; done
	@echo
	@echo '  PYTHON=...   the interpreter that makes the environments (now: $(PYTHON))'
	@echo '  ARGS=...     passed on: make test ARGS=tests/house, make bench ARGS=judge'

demo:  ## run an invented study from question to report, into ./evenglide-demo (or -2, -3 ...)
	@$(PYTHON) tools/setup.py run $(RUN_VENV)
	$(RUN_VENV)/bin/evenglide demo $(ARGS)

dev:  ## make or bring up to date the environment for working on evenglide
	@$(PYTHON) tools/setup.py dev $(VENV)

test: dev  ## every test, in a real browser too
	@$(BIN)/python tools/chromium.py >/dev/null || true  # without one the browser tests fail and say so
	$(BIN)/python -m pytest -n $(WORKERS) $(ARGS)

check: dev  ## format, lint, types, who may import whom, pages; all of them, even if one fails
	@$(MAKE) --no-print-directory --keep-going check-format check-lint check-types check-rooms check-pages

check-format:
	$(BIN)/ruff format --check

check-lint:
	$(BIN)/ruff check

check-types:
	$(BIN)/mypy

check-rooms:
	$(BIN)/lint-imports --no-logo

check-pages:
	$(BIN)/python tools/check_docs.py

bench: dev  ## measure how fast it is on this machine
	$(BIN)/python -m bench $(ARGS)

truth: dev  ## measure how often answers would be wrong, into docs/truth.md
	$(BIN)/python -m truth $(ARGS)

soak: dev  ## a minute of four phones while their server is killed; says whether anything was lost
	$(BIN)/python -m tests.field.soak --seconds 60 $(ARGS)

lock:  ## choose and write down the versions of all packages anew (ARGS=--upgrade for the newest)
	$(PYTHON) tools/lock.py $(ARGS)

clean:  ## remove environments, caches and what demo and bench made
	rm -rf .venv .venv-run dist build .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis
	rm -rf .coverage htmlcov evenglide-demo evenglide-demo-[0-9]* bench/results truth/results
	find src tests tools bench truth -name __pycache__ -type d -prune -exec rm -rf {} +
