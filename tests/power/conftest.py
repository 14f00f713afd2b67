"""Real servers and forgetful disks."""

import pytest
from tests import stores
from tests.power import disk


@pytest.fixture(autouse=True)
def as_kept(durable):
    """No book here is quicker than a maker's."""


@pytest.fixture(scope="session")
def disks():
    return disk


@pytest.fixture(scope="session")
def durable_postgres():
    """A server at its safe settings, for tests in which it is killed."""
    server = stores.Server(durable=True)
    yield server
    server.remove()
