# make demo    the main job on the demo herd; the packet lands in demo/out/
# make test    every test (browsers and databases that are missing are skipped loudly)
# make check   format, lint, types, layers, spelling, library data
# make kernel  compile the simulator for this computer (demo, test and bench do it first)
# make soak    1,000 kills of a program that writes to the ledger, on each database (half an hour)
# make bench   timings; make docs   regenerate reference pages
# make science measure the simulator against published values, draw and write docs/science
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
READY  := $(VENV)/.ready

.PHONY: demo kernel test soak check bench docs science format clean

# uv installs fast; where it cannot be had or cannot fetch, pip does the same from the same lock
export UV_SYSTEM_CERTS = 1
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check
UV  := $(BIN)/uv pip install --quiet --python $(BIN)/python

$(READY): requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Sunup needs Python 3.11 or newer: make PYTHON=python3.12 ..."; exit 2; }
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@$(PIP) uv 2>/dev/null || true
	@{ test -x $(BIN)/uv && $(UV) --require-hashes --compile-bytecode -r requirements.lock; } \
	  || { echo "uv could not install; using pip, which is slower"; $(PIP) --require-hashes -r requirements.lock; }
	@$(PIP) --no-deps --no-build-isolation -e .
	@touch $@

# the simulator is compiled here once after an update, so that no forecast waits for it
kernel: $(READY)
	@$(BIN)/python -c "from sunup.app.forecast_kernel import warm_kernel; warm_kernel(print)"

demo: kernel
	@$(BIN)/python demo/run.py

test: kernel
	@$(BIN)/python -m pytest -n 2 --dist loadfile

soak: $(READY)
	@SUNUP_SOAK_KILLS=1000 $(BIN)/python -m pytest -n0 -s tests/store/test_ledger_kills.py

check: $(READY)
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports
	@$(BIN)/codespell src docs tests builders benchmarks demo README.md CHANGELOG.md CONTRIBUTING.md Makefile
	@$(BIN)/sunup check
	@$(BIN)/python builders/docs.py --check

format: $(READY)
	@$(BIN)/ruff format .
	@$(BIN)/ruff check --fix .

bench: kernel
	@$(BIN)/python benchmarks/run.py

docs: $(READY)
	@$(BIN)/python builders/docs.py

science: kernel
	@$(BIN)/python builders/science.py
	@$(BIN)/python builders/docs.py

clean:
	rm -rf $(VENV) demo/out .pytest_cache .mypy_cache .ruff_cache .hypothesis
