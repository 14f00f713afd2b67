"""Real servers and forgetful disks."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest


def load(name, path):
    spec = spec_from_file_location(name, path)
    module = module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


stores = load("argentry_stores_power", Path(__file__).parents[1] / "stores.py")
forgetful = load("argentry_forgetful_disk", Path(__file__).with_name("disk.py"))


@pytest.fixture(scope="session")
def disks():
    return forgetful


@pytest.fixture(scope="session")
def durable_postgres():
    """A server at its safe settings, for tests in which it is killed."""
    server = stores.Server(durable=True)
    yield server
    server.remove()


@pytest.fixture(scope="session")
def client():
    """The devices of test_kill."""
    return load("argentry_bench_client", Path(__file__).with_name("bench_client.py"))
