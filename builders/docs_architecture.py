"""Write docs/architecture.md: the house drawn from the imports, its figures, and one day's walk.

Run from anywhere: ``python builders/docs_architecture.py``. Rooms, arrows, circles and the walk are
checked by a test; lines and shares are those of the day it was run.
"""

from __future__ import annotations

import ast
import contextlib
import inspect
import io
import os
import sys
import tempfile
import tomllib
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from builders.statements import statements  # noqa: E402

SRC = ROOT / "src"
PAGE = ROOT / "docs" / "architecture.md"
HEAD = """# The house

Written by `builders/docs_architecture.py` from the code; do not edit by hand.

argentry is laid out in floors. A room imports from the floors below it and from none above; the
contracts in `pyproject.toml` are checked by `make lint`. Decisions with their measurements are in
[decisions](decisions/); how to add to the house is in [CONTRIBUTING.md](../CONTRIBUTING.md).
"""
EVERYBODYS = {"records", "trade", "errors"}  # words that every room speaks: no visit


@dataclass(frozen=True)
class Module:
    """One file: its dotted name, its path, its lines, and the modules of ours that it imports."""

    name: str
    path: Path
    lines: int
    imports: frozenset[str]

    @property
    def room(self) -> str:
        return self.name.split(".")[1] if "." in self.name else ""


def _imported(node: ast.AST, known: set[str]) -> set[str]:
    if isinstance(node, ast.Import):
        return {alias.name for alias in node.names} & known
    if isinstance(node, ast.ImportFrom) and node.module and not node.level:
        inner = {f"{node.module}.{alias.name}" for alias in node.names}
        return (inner & known) or ({node.module} & known)
    return set()


def modules() -> dict[str, Module]:
    """Read every module under src."""
    paths: dict[str, Path] = {}
    for path in sorted((SRC / "argentry").rglob("*.py")):
        name = ".".join(path.relative_to(SRC).with_suffix("").parts).removesuffix(".__init__")
        paths[name] = path
    found, known = {}, set(paths)
    for name, path in paths.items():
        text = path.read_text(encoding="utf-8")
        every: set[str] = set()
        for node in statements(text):
            every |= _imported(node, known)
        lines = len(text.splitlines())
        found[name] = Module(name, path, lines, frozenset(every - {name}))
    return found


def circles(graph: dict[str, frozenset[str]]) -> list[list[str]]:
    """Return the circles of imports: strongly connected parts of more than one (Tarjan)."""
    number: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    out = []

    def visit(one: str) -> None:
        number[one] = low[one] = len(number)
        stack.append(one)
        for other in sorted(graph.get(one, ())):
            if other not in number:
                visit(other)
                low[one] = min(low[one], low[other])
            elif other in stack:
                low[one] = min(low[one], number[other])
        if low[one] == number[one]:
            part = stack[stack.index(one) :]
            del stack[stack.index(one) :]
            if len(part) > 1:
                out.append(sorted(part))

    for one in sorted(graph):
        if one not in number:
            visit(one)
    return out


def floors() -> list[list[str]]:
    """Return the rooms of each floor, top first, as the contract has them."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    for contract in project["tool"]["importlinter"]["contracts"]:
        if contract["name"].startswith("Floors"):
            return [
                [room.strip().removeprefix("argentry.") for room in layer.split("|")]
                for layer in contract["layers"]
            ]
    raise LookupError("pyproject.toml has no contract of the floors")


def arrows(house: dict[str, Module]) -> dict[str, set[str]]:
    """Return the rooms each room imports from."""
    out: dict[str, set[str]] = {room: set() for floor in floors() for room in floor}
    for module in house.values():
        for other in module.imports:
            room = house[other].room
            if module.room in out and room in out and room != module.room:
                out[module.room].add(room)
    return out


def _spared(direct: dict[str, set[str]]) -> dict[str, set[str]]:
    """Leave out an arrow that a longer way says already."""

    def reach(room: str) -> set[str]:
        return set().union(*({other} | reach(other) for other in direct[room])) if direct[room] \
            else set()  # fmt: skip

    return {
        room: {o for o in others if not any(o in reach(mid) for mid in others - {o})}
        for room, others in direct.items()
    }


def _about(room: str) -> str:
    path = SRC / "argentry" / room / "__init__.py"
    path = path if path.exists() else SRC / "argentry" / f"{room}.py"
    words = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return words.split("\n\n")[0].replace("\n", " ")


def drawing(house: dict[str, Module]) -> str:
    """Draw the floors and the arrows between the rooms."""
    direct = arrows(house)
    lines = ["```mermaid", "flowchart TD"]
    for number, floor in enumerate(floors()):
        height = len(floors()) - number
        lines.append(f'  subgraph floor{height}["{height}"]')
        lines += ["    direction LR", *(f"    {room}" for room in floor), "  end"]
    for room, others in _spared(direct).items():
        lines += [f"  {room} --> {other}" for other in sorted(others)]
    return "\n".join([*lines, "```"])


def rooms(house: dict[str, Module]) -> str:
    """Tell of each room what it is for and what it imports from."""
    direct = arrows(house)
    order = [room for floor in floors() for room in floor]
    head = ["| room | what it is for | imports from |", "| --- | --- | --- |"]
    below = {room: ", ".join(sorted(direct[room], key=order.index)) or "nothing" for room in order}
    rows = [f"| `{room}` | {_about(room)} | {below[room]} |" for room in order]
    return "\n".join([*head, *rows])


def loose_answers(house: dict[str, Module]) -> list[str]:
    """Return the public functions that answer a dict of anything."""
    texts = {name: module.path.read_text(encoding="utf-8") for name, module in house.items()}
    return sorted(
        f"{name}.{node.name}"
        for name, text in texts.items()
        if "Any" in text
        for node in statements(text)
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
        and not node.name.startswith("_")
        and node.returns is not None
        and "dict[str, Any]" in ast.unparse(node.returns)
    )


def folders(house: dict[str, Module]) -> dict[str, tuple[int, int]]:
    """Return lines and files of each folder, those in folders within it not counted."""
    lines: Counter[str] = Counter()
    files: Counter[str] = Counter()
    for module in house.values():
        folder = module.path.parent.relative_to(SRC).as_posix()
        lines[folder] += module.lines
        files[folder] += module.path.name != "__init__.py"
    return {folder: (lines[folder], files[folder]) for folder in sorted(lines)}


def figures(house: dict[str, Module]) -> str:
    """Tell lines, files and shares, and what should be none."""
    every = folders(house)
    total = sum(module.lines for module in house.values())
    files = sum(count for _, count in every.values())
    whole: Counter[str] = Counter()
    for module in house.values():
        whole[module.room] += module.lines
    most = max(whole, key=lambda room: whole[room])
    graph = {module.name: module.imports for module in house.values()}
    told = (
        f"{total:,} lines of Python in {files} files; the largest folder is `{most}` with "
        f"{100 * whole[most] / total:.1f} % of them. Circles of imports: {len(circles(graph))}. "
        f"Public functions that return `dict[str, Any]`: {len(loose_answers(house))}."
    )
    out = [
        told,
        "",
        "| room | lines | share | files | its folders |",
        "| --- | --- | --- | --- | --- |",
    ]
    for room in [room for floor in floors() for room in floor]:
        inside = {f: v for f, v in every.items() if f"{f}/".startswith(f"argentry/{room}/")}
        told = ", ".join(
            f"{folder.split('/', 2)[2]} {lines}"
            for folder, (lines, count) in inside.items()
            if folder.count("/") > 1 and count
        )
        count = sum(files for _, files in inside.values()) or 1
        lines = whole[room]
        out.append(f"| `{room}` | {lines:,} | {100 * lines / total:.1f} % | {count} | {told} |")
    return "\n".join(out)


# --- the walk: which room calls which while one day is planned


@dataclass
class Visit:
    """A call from one room into another, and the calls it led to."""

    call: str
    room: str
    times: int
    led: list[Visit]


class Walk:
    """Follow the calls between rooms, in the order in which they first come."""

    def __init__(self) -> None:
        self.root = Visit("", "", 1, [])
        self.path: list[tuple[object, Visit]] = []
        self.known: dict[object, tuple[str, str] | None] = {}

    def _where(self, code: object) -> tuple[str, str] | None:
        if code not in self.known:
            _, found, file = code.co_filename.partition("/src/argentry/")
            name = code.co_qualname
            told = None
            # a value's own methods are no visit, nor is a generator that goes on; a body of a
            # class or a module is no function
            plain = code.co_flags & (inspect.CO_OPTIMIZED | inspect.CO_GENERATOR)
            if found and plain == inspect.CO_OPTIMIZED and name.isidentifier():
                room = file.split("/")[0].removesuffix(".py")
                if room not in EVERYBODYS:
                    told = room, f"{file.removesuffix('.py').replace('/', '.')}.{name}"
            self.known[code] = told
        return self.known[code]

    def follow(self, frame, event: str, _argument: object) -> None:
        if event == "call":
            where = self._where(frame.f_code)
            here = self.path[-1][1] if self.path else self.root
            if where and where[0] != here.room:
                room, call = where
                for visit in here.led:
                    if visit.call == call:
                        visit.times += 1
                        break
                else:
                    visit = Visit(call, room, 1, [])
                    here.led.append(visit)
                self.path.append((frame, visit))
        elif event == "return" and self.path and self.path[-1][0] is frame:
            self.path.pop()


def _studio_made(folder: str) -> None:
    from argentry.keeping.studio import new_studio

    place = {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"}
    new_studio(Path(folder) / "studio", place)


def walked() -> Visit:
    """Plan a day as `argentry day` does and return the calls between rooms."""
    from argentry.cli.main import main

    with tempfile.TemporaryDirectory() as folder:
        _studio_made(folder)
        asked = ["day", "2026-06-21", "--studio", f"{folder}/studio", "--plates", "2"]
        walk = Walk()
        told = io.StringIO()
        before = os.environ.pop("ARGENTRY_BOOK", None)
        with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
            sys.setprofile(walk.follow)
            try:
                main(asked)
            except SystemExit as end:
                sys.setprofile(None)
                if end.code:
                    raise RuntimeError(told.getvalue()) from end
            finally:
                sys.setprofile(None)
                if before is not None:
                    os.environ["ARGENTRY_BOOK"] = before
    return walk.root


def entries(visit: Visit) -> dict[str, list[str]]:
    """Return, per room, the functions by which the others walk into it."""
    found: dict[str, list[str]] = {}

    def look(one: Visit) -> None:
        for led in one.led:
            calls = found.setdefault(led.room, [])
            if led.call not in calls:
                calls.append(led.call)
            look(led)

    look(visit)
    return found


def tree(visit: Visit, depth: int = 0) -> list[str]:
    """Write the calls as an indented list."""
    out = []
    for led in visit.led:
        times = "" if led.times == 1 else f"  ({led.times} times)"
        out.append("  " * depth + led.call + times)
        out += tree(led, depth + 1)
    return out


def page() -> str:
    """Return the whole page."""
    house = modules()
    walk = walked()
    visits = "\n".join(tree(walk))
    doors = "\n".join(
        f"| `{room}` | {len(calls)} | {', '.join(f'`{call}`' for call in calls)} |"
        for room, calls in entries(walk).items()
    )
    return f"""{HEAD}
## Floors and arrows

An arrow that a longer way says already is left out; the table has them all.

{drawing(house)}

{rooms(house)}

## Figures

{figures(house)}

## From place and weather to the sheet

The calls from one room into another while `argentry day` plans two plates, in the order in which
they first come, followed by a profiler. Records, the trade's facts and errors are the words that
every room speaks and are left out, and so are the methods of a value that was handed over.

| room | ways in | functions called from other rooms |
| --- | --- | --- |
{doors}

```text
{visits}
```
"""


def main() -> None:
    """Write the page."""
    PAGE.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
