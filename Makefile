# Two commands do everything: make demo, make test.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet
DEMO := fixtures/corners/orchard-pickup-rear.toml

.PHONY: demo test test-all mutants check bench docs site format clean

$(VENV)/.installed: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(PIP) install --constraint constraints.txt --editable '.[pictures,page]'
	touch $@

$(VENV)/.tested: $(VENV)/.installed
	$(PIP) install --constraint constraints.txt --editable '.[pictures,page,test,check]'
	$(PIP) install --constraint constraints.txt --editable '.[oracles]' || echo "some oracle libraries are not to be had here; their tests will skip"
	$(PIP) install --constraint constraints.txt --editable '.[study]' || echo "Arrow and Dask are not to be had here; their tests will skip"
	$(PIP) install --constraint constraints.txt --editable '.[cad]' || echo "the CAD kernel is not to be had here; its tests will skip"
	$(PIP) install --constraint constraints.txt --editable '.[phone]' || echo "OpenUSD is not to be had here; its tests will skip"
	touch $@

demo: $(VENV)/.installed  ## the main job on a shipped corner file
	@echo "Checking $(DEMO): a leaf-sprung pickup's rear corner, invented for this demo."
	@$(BIN)/clearance check $(DEMO) --out out/demo || test $$? -eq 1
	@echo
	@echo "Open out/demo/report.html in a browser, out/demo/scene.glb in any 3D viewer."

$(VENV)/.sited: $(VENV)/.tested
	$(PIP) install --constraint constraints.txt --editable '.[site]' || echo "Sphinx is not to be had here; the tests of the site will skip"
	touch $@

# every test that runs the command starts a new Python: compiled once, also where it is told to keep nothing compiled;
# the tests themselves are compiled when they are first read
test: $(VENV)/.sited  ## all tests but the slow proofs
	$(BIN)/python -m compileall -q clearance cli
	PYTHONDONTWRITEBYTECODE= OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -m "not slow" -n 2 --dist worksteal

$(VENV)/.mutating: $(VENV)/.sited
	$(PIP) install --constraint constraints.txt --editable '.[mutation]' || echo "Cosmic Ray is not to be had here; the sample of mutants will skip"
	touch $@

test-all: $(VENV)/.mutating  ## the slow proofs too
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n 2

mutants: $(VENV)/.mutating  ## does a test notice a small fault? writes docs/mutants.md; takes an hour or two
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m tests.mutation --write

check: $(VENV)/.tested  ## lint, format and strict types
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: $(VENV)/.tested  ## figures and ratios; asserts nothing
	cd tests/speed && for script in bench_*.py; do echo "== $$script"; ../../$(BIN)/python $$script; done

docs: $(VENV)/.tested  ## run the tutorial and how-to pages, and write the pages that are made from the program anew
	$(BIN)/python docs/command_pages.py
	$(BIN)/python docs/corner_file_tables.py
	$(BIN)/python docs/python_page.py
	$(BIN)/python docs/answer_schemas.py
	OPENBLAS_NUM_THREADS=1 $(BIN)/python docs/run_pages.py

site: $(VENV)/.sited  ## the docs as a site that opens with no network; notebooks are executed
	OPENBLAS_NUM_THREADS=1 $(BIN)/python docs/gallery.py
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m sphinx -W --keep-going -q -b html -d build/doctrees docs out/site
	@echo "Open out/site/index.html in a browser."

format: $(VENV)/.tested
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

clean:
	rm -rf $(VENV) out build dist *.egg-info
