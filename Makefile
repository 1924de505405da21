# Everything is set up by the first target that needs it. Without make: see README.md.
PYTHON ?= python3
VENV := .venv
RUN := $(VENV)/bin/python

.PHONY: demo serve test measure check lock clean

demo: $(VENV)/run.stamp
	$(RUN) app.py demo

serve: $(VENV)/run.stamp
	$(RUN) app.py serve

test: $(VENV)/test.stamp
	$(RUN) -m tests.everything

measure: $(VENV)/test.stamp
	$(RUN) -m tests.measure

check: $(VENV)/test.stamp
	$(VENV)/bin/ruff check .
	$(VENV)/bin/ruff format --check .
	$(VENV)/bin/mypy
	$(VENV)/bin/lint-imports

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/run.stamp: requirements.txt | $(VENV)/bin/python
	$(RUN) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.txt
	touch $@

$(VENV)/test.stamp: requirements-dev.txt | $(VENV)/bin/python
	$(RUN) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.txt
	touch $@ $(VENV)/run.stamp

lock:
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate requirements.in -o requirements.txt
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate requirements-dev.in -o requirements-dev.txt

clean:
	rm -rf $(VENV) data .mypy_cache .ruff_cache .pytest_cache .hypothesis
