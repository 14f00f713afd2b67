# Two commands do everything: `make run` and `make test`. The rest is for those who change the code:
# `make quick` is most of the tests in under two minutes, `make lint` what a change must pass first.
PYTHON ?= $(shell command -v python3.11 || command -v python3)
VENV := .venv
BIN := $(VENV)/bin
UV := $(BIN)/uv
export VIRTUAL_ENV := $(CURDIR)/$(VENV)
export PIP_DISABLE_PIP_VERSION_CHECK := 1
# set in some containers: every process of the tests would compile again what it reads
unexport PYTHONDONTWRITEBYTECODE
DEMO := demo-studio
# Each process takes a run of whole files, which share its browser, fits and database server, and one
# that is done takes over tests of another: no core idles at the end. They wait for browsers and
# disks for a part of their time, so that three keep two cores busy.
PROCESSES ?= 3
PYTEST := $(BIN)/python -m pytest -n $(PROCESSES) --dist worksteal
NEEDS := mosquitto openssl
# a third less work than the whole browser, which serves where the shell cannot be had
SHELL_OF_BROWSER := chromium-headless-shell
APT := apt-get -qq -o Acquire::Retries=0 -o Acquire::http::Timeout=20
# What is read of the packages here, in half the time of all: their own tests, and tools that run as
# programs or are compiled already, would be as much again.
BYTECODE := $(BIN)/python -m compileall -q -j 0 src $(VENV)/lib \
  -x '/(tests|pip|setuptools|pkg_resources|mypy|mypyc|lexers|graphql|plotting)/'
CHAOS ?=
# set to leave the pages out of `make run`
NO_SERVE ?=
COMPILE := $(UV) pip compile --quiet --universal --generate-hashes --no-header --no-annotate --python-version 3.11

.PHONY: run test quick system lint bench chaos docs lock clean

run: $(VENV)/run.stamp
	@test -f $(DEMO)/studio.toml || $(BIN)/argentry demo $(DEMO)
	@$(BIN)/argentry book import $(DEMO)/plates.csv --studio $(DEMO)
	@test ! -f $(DEMO)/shelf.csv || \
	  $(BIN)/argentry stock import $(DEMO)/shelf.csv --studio $(DEMO) | tail -1
	@$(BIN)/argentry day --studio $(DEMO)
	@echo
	@echo "Next: $(BIN)/argentry day --studio $(DEMO) --plates 3 --pdf day.pdf   (a sheet for the wall)"
	@echo "      $(BIN)/argentry studio new my-studio                     (your own place, lenses and boxes)"
	@echo "      open the pages at the address below; Control-C ends them"
	@test -n "$(NO_SERVE)" || $(BIN)/argentry serve --studio $(DEMO)

# The step after creating the environment is the one that fails on a bare Debian without ensurepip.
$(VENV)/bin/uv: locks/tool.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "argentry needs Python 3.11 or newer; on Debian: apt-get install python3.11-venv"; exit 2; }
	@$(PYTHON) -m venv $(VENV) || \
	  { echo "Python lacks its venv module; on Debian: apt-get install python3.11-venv"; exit 2; }
	$(BIN)/python -m pip install --quiet --require-hashes -r locks/tool.txt
	@touch $@

$(VENV)/run.stamp: $(VENV)/bin/uv locks/run.txt pyproject.toml
	$(UV) pip install --quiet --require-hashes -r locks/run.txt
	$(UV) pip install --quiet --no-deps --no-build-isolation -e .
	$(BYTECODE)
	@touch $@

$(VENV)/dev.stamp: $(VENV)/run.stamp locks/dev.txt
	$(UV) pip install --quiet --require-hashes -r locks/dev.txt
	$(BYTECODE)
	@touch $@

test: $(VENV)/dev.stamp system
	$(PYTEST)

# Without browser, database server, cut power and long fits: for daily work.
quick: $(VENV)/dev.stamp
	$(PYTEST) -m "not slow"

# Kills, cut power, full disks, rot, jumping clocks, hostile input and load, in a quarter of an hour;
# CHAOS=--full goes to the full counts, CHAOS="--help" says what else it takes.
chaos: NEEDS += strace
chaos: $(VENV)/dev.stamp system
	$(BIN)/python -m benchmarks.chaos $(CHAOS)

# What the tests need of the system: a browser, a broker, a database server, a judge of certificates.
# Root gets them installed; others are told, and the tests that need them skip by name.
system:
	@root=""; test "$$(id -u)" != 0 || ! command -v apt-get >/dev/null || root=yes; \
	export DEBIAN_FRONTEND=noninteractive; missing=""; \
	if [ -n "$$root" ] && ! command -v $(SHELL_OF_BROWSER) >/dev/null; then \
	  echo "installing for the tests: $(SHELL_OF_BROWSER)"; \
	  { $(APT) update && $(APT) install -y --no-install-recommends $(SHELL_OF_BROWSER); } \
	    >/dev/null 2>&1 || echo "it cannot be had here: the whole browser serves"; fi; \
	command -v $(SHELL_OF_BROWSER) >/dev/null || command -v chromium >/dev/null || missing=" chromium"; \
	for name in $(NEEDS); do \
	  PATH="$$PATH:/usr/sbin" command -v $$name >/dev/null || missing="$$missing $$name"; done; \
	ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || missing="$$missing postgresql"; \
	if [ -n "$$missing" ]; then \
	  if [ -n "$$root" ]; then \
	    echo "installing for the tests:$$missing"; \
	    $(APT) update && $(APT) install -y --no-install-recommends $$missing >/dev/null; \
	  else echo "NOT ROOT: these are missing and the tests that need them will be skipped:$$missing"; fi; fi

lint: $(VENV)/dev.stamp
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	@! grep -n '://' locks/*.txt || { echo "a lock file carries an address"; exit 1; }

bench: $(VENV)/dev.stamp
	$(BIN)/python -m benchmarks

docs: $(VENV)/dev.stamp
	@for script in builders/docs_*.py; do echo $$script; $(BIN)/python $$script || exit 1; done

lock: $(VENV)/bin/uv
	$(COMPILE) locks/tool.in -o locks/tool.txt
	$(COMPILE) pyproject.toml locks/build.in --extra postgres --extra mqtt --extra tls --extra see -o locks/run.txt
	$(COMPILE) pyproject.toml locks/build.in locks/dev.in --extra postgres --extra mqtt --extra tls --extra see -c locks/run.txt -o locks/dev.txt

clean:
	rm -rf $(VENV) $(DEMO)
