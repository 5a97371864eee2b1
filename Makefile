# Everything a person or CI runs. `make demo` and `make test` need only Python 3.11+, git and make.
PY ?= $(shell command -v python3.11 || command -v python3.12 || command -v python3.13 || command -v python3)
export OPENBLAS_NUM_THREADS = 1
export OMP_NUM_THREADS = 1
SERVE ?= 1
SITE ?= demo-site
BIN := .venv/bin

.PHONY: demo test check lock clean

.venv/run.ok: requirements.lock pyproject.toml
	@"$(PY)" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Takeup needs Python 3.11 or newer; set PY=/path/to/python3.11"; exit 1; }
	"$(PY)" -m venv .venv
	$(BIN)/pip install -q --require-hashes -r requirements.lock
	$(BIN)/pip install -q --no-deps --no-build-isolation -e .
	@touch $@

.venv/dev.ok: requirements-dev.lock .venv/run.ok
	$(BIN)/pip install -q --require-hashes -r requirements-dev.lock
	@touch $@

demo: .venv/run.ok
	$(BIN)/takeup demo --site "$(SITE)" $(if $(filter 0,$(SERVE)),,--serve)

test: .venv/dev.ok
	sh scripts/test.sh

check: .venv/dev.ok
	$(BIN)/ruff format --check src tests scripts
	$(BIN)/ruff check src tests scripts
	$(BIN)/mypy
	$(BIN)/lint-imports

# extra spark is left out of the lock: 825 MB and a Java, for one slow test
lock:
	uv pip compile -q --universal --python-version 3.11 --generate-hashes --no-header --no-annotate --group build pyproject.toml -o requirements.lock
	uv pip compile -q --universal --python-version 3.11 --generate-hashes --no-header --no-annotate --extra postgres --extra opcua --extra big --group build --group dev pyproject.toml -o requirements-dev.lock

clean:
	rm -rf .venv demo-site build dist
