"""The API's own description, read by schemathesis, against the API: no request may end in a 5xx.

Source: schemathesis (an independent tester of OpenAPI), its checks `not_a_server_error`,
`status_code_conformance`, `content_type_conformance` and `response_schema_conformance`.
"""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from tests.counts import few

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.desk import house, runs
from argentry.errors import BadInput
from argentry.keeping.studio import new_studio
from argentry.web.app import create_app

EXAMPLES = int(os.environ.get("ARGENTRY_EXAMPLES", few(15, 40)))  # `make chaos` asks for more
ORIGIN = {"Origin": "http://localhost", "Host": "localhost"}


def checks():
    # read here: the other processes of a run do without
    from schemathesis import checks, specs

    asked = specs.openapi.checks
    return [
        checks.not_a_server_error,
        asked.status_code_conformance,
        asked.content_type_conformance,
        asked.response_schema_conformance,
    ]


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    folder = tmp_path_factory.mktemp("api") / "studio"
    new_studio(folder, {})
    book = open_book(folder)
    made = create_app(folder, book)
    made.state.run = runs.open_plain_run(made.state.house, ["Q-1", "Q-2"], "first", "host")
    yield made
    close_book(book)


@pytest.fixture(scope="module")
def description(app):
    import schemathesis

    async def from_this_machine(scope, receive, send):
        if scope["type"] == "http":
            scope["client"] = ("127.0.0.1", 50000)
        await app(scope, receive, send)

    return schemathesis.openapi.from_asgi("/api/openapi.json", from_this_machine, headers=ORIGIN)


OPERATIONS = [
    ("GET", "/api/health"),
    ("GET", "/api/runs"),
    ("POST", "/api/runs"),
    ("GET", "/api/runs/{run}"),
    ("POST", "/api/runs/{run}/events"),
    ("POST", "/api/readings"),
    ("GET", "/api/readings/latest"),
    ("GET", "/api/devices"),
    ("DELETE", "/api/devices/{device}"),
]


def test_nothing_the_api_describes_is_left_out(description):
    there = {(op.ok().method.upper(), op.ok().path) for op in description.get_all_operations()}
    # a stream has no end; tests/web/test_stream.py listens to it
    assert there - {("GET", "/api/runs/{run}/stream")} == set(OPERATIONS)


@pytest.mark.parametrize("mode", ["positive", "negative"])
@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_no_request_ends_in_a_mistake_of_ours(
    method, path, mode, description, app, monkeypatch, record_property
):
    from schemathesis import GenerationMode

    def quick(*_):  # planning takes seconds and is tested where it lives
        raise BadInput("date", "the test plans no day", "test it where it lives")

    monkeypatch.setattr(house, "planned_day", quick)
    monkeypatch.setattr(runs, "planned_day", quick)
    asked = 0

    @given(case=description[path][method].as_strategy(generation_mode=GenerationMode(mode)))
    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def ask(case):
        nonlocal asked
        case.headers = {**(case.headers or {}), **ORIGIN}
        if path.endswith("/events"):  # a run that is there: what is sent reaches the bench
            case.path_parameters["run"] = app.state.run
        case.call_and_validate(checks=checks())
        asked += 1

    try:
        ask()
    except Unsatisfiable:  # there is nothing to get wrong: no field, no parameter
        assert mode == "negative"
        assert "{" not in path
        return
    record_property("asked", asked)
    assert asked


def test_a_mistake_of_ours_would_be_found(description, monkeypatch):
    from schemathesis.checks import FailureGroup

    monkeypatch.setattr("argentry.web.api.runs.run_heads", lambda *_: 1 / 0)

    @given(case=description["/api/runs"]["GET"].as_strategy())
    @settings(max_examples=1, deadline=None, suppress_health_check=list(HealthCheck))
    def ask(case):
        case.headers = {**(case.headers or {}), **ORIGIN}
        case.call_and_validate(checks=checks())

    with pytest.raises(FailureGroup, match="Server error"):
        ask()
