"""The published figures of makers and handbooks, asked of the product through its own commands."""

from __future__ import annotations

import json
import shlex
import tomllib
from contextlib import chdir
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from click.testing import CliRunner

TABLE = Path(__file__).with_name("makers.toml")


@dataclass(frozen=True)
class Check:
    """One published figure and what must come out, see the head of ``makers.toml``."""

    key: str
    says: str
    ask: str
    field: str
    unit: str
    must: tuple[float, float]
    why: str
    basis: str
    source: str
    over: str = ""
    times: float = 1.0
    miss: str = ""

    def value(self) -> float:
        """What the product answers."""
        found = self.times * answer(self.ask, self.field)
        return found / answer(self.over, self.field) if self.over else found

    def hits(self) -> bool:
        """Whether the answer falls into the range it must fall into."""
        return self.must[0] <= self.value() <= self.must[1]


@cache
def places() -> dict[str, str]:
    return dict(tomllib.loads(TABLE.read_text(encoding="utf-8"))["places"])


def checks() -> tuple[Check, ...]:
    rows = tomllib.loads(TABLE.read_text(encoding="utf-8"))["check"]
    return tuple(Check(**{**row, "must": tuple(row["must"])}) for row in rows)


@cache
def said(ask: str) -> Any:
    """The JSON of a command, run in a folder without a studio."""
    from argentry.cli.main import cli

    words = [*shlex.split(ask.format(**places())), "--json"]
    with TemporaryDirectory() as empty, chdir(empty):
        got = CliRunner().invoke(cli, words)
    if got.exit_code != 0:
        raise AssertionError(f"argentry {ask}: {got.output}")
    return json.loads(got.stdout)


def answer(ask: str, field: str) -> float:
    value = said(ask)
    for step in field.split("."):
        value = value[int(step)] if step.isdigit() else value[step]
    return float(value)
