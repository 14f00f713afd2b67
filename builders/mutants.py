"""Spoil single lines of the code at random and see whether a test notices.

Each mutant changes one line: an operator, a comparison, a constant, a negated condition, min for
max, a statement left out. Docstrings, type hints, words and messages stay as they are. It is made
in a copy of the tree, and the tests that mirror the file, import it or enter the changed function
are run.

    python builders/mutants.py --seed 8 --count 40 plan learn book desk
    python builders/mutants.py --again survivors.jsonl      # the same changes, after better tests

The first run finds which test file enters which function and keeps that in `--map`.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from itertools import pairwise
from pathlib import Path
from queue import Queue

ROOT = Path(__file__).resolve().parents[1]
COPIED = ("src", "tests", "builders", "docs", "examples", "benchmarks", "locks", "pyproject.toml",
          "README.md", "CHANGELOG.md", "CONTRIBUTING.md", "Makefile", "LICENSE")  # fmt: skip
# They start browsers, brokers and servers of their own; a rule that only they hold is held by none.
LEFT_OUT = ("api", "pages", "power", "circle", "outside/test_mqtt_broker.py", "web/test_serve.py",
            "web/test_hostile.py", "web/test_forms_in_chromium.py",
            "outside/test_job_shops.py", "house")  # fmt: skip
SWAPS = {
    ast.Lt: ("<", "<="), ast.LtE: ("<=", "<"), ast.Gt: (">", ">="), ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"), ast.Is: ("is", "is not"), ast.IsNot: ("is not", "is"),
    ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "/"), ast.Mod: ("%", "//"), ast.Pow: ("**", "*"),
    ast.And: ("and", "or"), ast.Or: ("or", "and"), ast.BitAnd: ("&", "|"), ast.BitOr: ("|", "&"),
}  # fmt: skip
AWAY = {ast.Lt: ">=", ast.LtE: ">", ast.Gt: "<=", ast.GtE: "<"}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum",
         "maximum": "minimum", "floor": "ceil", "ceil": "floor", "argmin": "argmax",
         "argmax": "argmin"}  # fmt: skip
WORDS = ("raise", "warn", "log", "echo", "print", "format", "join", "BadInput")


@dataclass(frozen=True)
class Mutant:
    """One changed line: its file under src, the number, the line before and after, its function."""

    file: str
    line: int
    before: str
    after: str
    function: int  # first line of the outermost function it stands in, 0 for none


class _Finder(ast.NodeVisitor):
    """Collect (line, start, end, new text) of every change that one line can take."""

    def __init__(self, text: str) -> None:
        self.lines = [line.encode() for line in text.splitlines()]
        self.found: list[tuple[int, int, int, str]] = []

    def _add(self, line: int, start: int, end: int, new: str) -> None:
        self.found.append((line, start, end, new))

    def _between(self, left: ast.expr, right: ast.expr, op: ast.AST) -> None:
        """Swap the operator that stands between two expressions, if on one line."""
        old, new = SWAPS.get(type(op), ("", ""))
        if not old or left.end_lineno != right.lineno:
            return
        gap = self.lines[right.lineno - 1][left.end_col_offset : right.col_offset].decode()
        place = gap.find(old)
        if place < 0:
            return
        start = left.end_col_offset + place
        self._add(right.lineno, start, start + len(old), new)
        if type(op) in AWAY:
            self._add(right.lineno, start, start + len(old), AWAY[type(op)])

    def _whole(self, node: ast.AST, new: str) -> None:
        if node.lineno == node.end_lineno:
            self._add(node.lineno, node.col_offset, node.end_col_offset, new)

    def _text(self, node: ast.AST) -> str:
        line = self.lines[node.lineno - 1]
        return line[node.col_offset : node.end_col_offset].decode()

    def visit_Compare(self, node: ast.Compare) -> None:
        sides = [node.left, *node.comparators]
        for left, op, right in zip(sides, node.ops, node.comparators, strict=False):
            self._between(left, right, op)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        sides = (node.left, node.right)
        worded = any(isinstance(s, ast.JoinedStr) for s in sides) or any(
            isinstance(s, ast.Constant) and isinstance(s.value, str) for s in sides
        )
        if not worded:
            self._between(node.left, node.right, node.op)
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        for left, right in pairwise(node.values):
            self._between(left, right, node.op)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, (ast.Not, ast.USub)) and node.lineno == node.end_lineno:
            start = node.operand.col_offset
            self._add(node.lineno, node.col_offset, start, "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, bool):
            self._whole(node, str(not node.value))
        elif isinstance(node.value, (int, float)):
            self._whole(node, repr(node.value + 1))
            if node.value:
                self._whole(node, repr(node.value - 1 if isinstance(node.value, int)
                                       else node.value * 0.5))  # fmt: skip

    def _condition(self, node: ast.If | ast.While | ast.IfExp) -> None:
        if isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            return
        if node.test.lineno == node.test.end_lineno:
            self._whole(node.test, f"not ({self._text(node.test)})")
        self.generic_visit(node)

    visit_If = visit_While = visit_IfExp = _condition  # noqa: N815

    def visit_Call(self, node: ast.Call) -> None:
        func = node.func
        name = func.id if isinstance(func, ast.Name) else getattr(func, "attr", "")
        if name.lower().endswith(WORDS):
            return
        if name in NAMES and func.lineno == func.end_lineno:
            end = func.end_col_offset
            self._add(func.lineno, end - len(name), end, NAMES[name])
        self.generic_visit(node)

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Call):
            self._whole(node, "pass")
            self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        self._whole(node, "pass")
        self._between(node.target, node.value, node.op)
        self.generic_visit(node)

    def visit_Assign(self, node: ast.Assign) -> None:
        if isinstance(node.targets[0], (ast.Attribute, ast.Subscript)):
            self._whole(node, "pass")
        self.generic_visit(node)

    def visit_Continue(self, node: ast.Continue) -> None:
        self._whole(node, "break")

    def visit_Break(self, node: ast.Break) -> None:
        self._whole(node, "continue")

    def visit_Raise(self, node: ast.Raise) -> None:
        self._whole(node, "pass")

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value:
            self.visit(node.value)

    def _function(self, node: ast.FunctionDef | ast.AsyncFunctionDef) -> None:
        for default in [*node.args.defaults, *(d for d in node.args.kw_defaults if d)]:
            self.visit(default)
        for one in node.body:
            self.visit(one)

    visit_FunctionDef = visit_AsyncFunctionDef = _function  # noqa: N815

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for one in node.body:
            self.visit(one)


def _functions(tree: ast.Module) -> list[tuple[int, int]]:
    """Return (first line as a code object tells it, last line) of each function not in another."""
    found = []

    def walk(node: ast.AST) -> None:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef)):
                first = min([child.lineno, *(d.lineno for d in child.decorator_list)])
                found.append((first, child.end_lineno or first))
            else:
                walk(child)

    walk(tree)
    return found


def mutants_of(file: str, text: str) -> dict[int, list[Mutant]]:
    """Return the changes that each line of a file can take."""
    tree = ast.parse(text)
    finder = _Finder(text)
    finder.visit(tree)
    functions = _functions(tree)
    out: dict[int, list[Mutant]] = {}
    for line, start, end, new in finder.found:
        old = finder.lines[line - 1]
        changed = (old[:start] + new.encode() + old[end:]).decode()
        inside = next((a for a, b in functions if a <= line <= b), 0)
        out.setdefault(line, []).append(Mutant(file, line, old.decode(), changed, inside))
    return out


def draw(folders: list[str], seed: int, count: int) -> list[Mutant]:
    """Draw lines at random, each as likely as another, and one change of each."""
    lines = []
    for folder in folders:
        for path in sorted((ROOT / "src/argentry" / folder).rglob("*.py")):
            if "migrations/versions" in path.as_posix():
                continue
            file = path.relative_to(ROOT / "src").as_posix()
            lines += mutants_of(file, path.read_text(encoding="utf-8")).values()
    chance = random.Random(seed)
    return [chance.choice(line) for line in chance.sample(lines, count)]


# --- which test file enters which function


class Entered:
    """The pytest plugin that notes the functions of the code each test file enters."""

    def __init__(self, kept: str) -> None:
        self.kept, self.now = Path(kept), ""
        self.seen: dict[object, tuple[str, int] | None] = {}
        self.map: dict[str, set[tuple[str, int]]] = {}

    def _trace(self, frame, _event, _arg):
        code = frame.f_code
        key = self.seen.get(code, ())
        if key == ():
            _, found, file = code.co_filename.partition("/src/argentry/")
            key = ("argentry/" + file, code.co_firstlineno) if found else None
            self.seen[code] = key
        if key and self.now:
            self.map[self.now].add(key)

    def pytest_runtest_setup(self, item) -> None:
        self.now = item.path.as_posix().partition("/tests/")[2]
        self.map.setdefault(self.now, set())
        import threading

        sys.settrace(self._trace)
        threading.settrace(self._trace)

    def pytest_sessionfinish(self) -> None:
        sys.settrace(None)
        told = {test: sorted(f"{f}:{n}" for f, n in seen) for test, seen in self.map.items()}
        self.kept.write_text(json.dumps(told), encoding="utf-8")


def pytest_configure(config) -> None:
    """Be a plugin where the map is being made."""
    kept = os.environ.get("ARGENTRY_MUTANTS_MAP")
    if kept:
        config.pluginmanager.register(Entered(kept))


def _copy(where: Path) -> None:
    for name in COPIED:
        one = ROOT / name
        if one.is_dir():
            shutil.copytree(one, where / name, ignore=shutil.ignore_patterns("__pycache__"))
        elif one.exists():
            shutil.copy(one, where / name)


def _pytest(tree: Path, arguments: list[str], cpu_s: int, wall_s: int, **more: str) -> str:
    """Run tests in a copy; return "", or what ended them."""
    path = os.pathsep.join([str(tree / "src"), str(tree / "builders")])
    env = {**os.environ, "PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": "1", **more}
    process = subprocess.Popen(
        ["sh", "-c", f'ulimit -t {cpu_s}; exec "$@"', "sh", sys.executable, "-m", "pytest",
         "-p", "no:cacheprovider", *arguments],
        cwd=tree, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        start_new_session=True,
    )  # fmt: skip
    try:
        told, _ = process.communicate(timeout=wall_s)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        return "it did not end"
    if process.returncode in (0, 5):  # 5: the file holds no such test
        return ""
    if process.returncode < 0:
        return "it did not end"
    wrong = [line for line in told.splitlines() if line.startswith(("FAILED", "ERROR", "E  "))]
    return wrong[-1][:160] if wrong else told[-300:]


def make_map(kept: Path, tree: Path) -> dict[str, list[str]]:
    """Run the tests once and keep which functions each file enters."""
    if not kept.exists():
        left_out = [f"--ignore=tests/{name}" for name in LEFT_OUT]
        wrong = _pytest(tree, ["-p", "mutants", "tests", *left_out], 7200, 7200,
                        ARGENTRY_MUTANTS_MAP=str(kept))  # fmt: skip
        if wrong:
            sys.exit(f"the tests fail without any mutant: {wrong}")
    return json.loads(kept.read_text(encoding="utf-8"))


def _importing(tree: Path, file: str) -> list[str]:
    """Return the test files that mirror a module or import it, the mirror first."""
    module = file.removesuffix(".py").replace("/", ".")
    package, name = module.rsplit(".", 1)
    folder, stem = file.removeprefix("argentry/").removesuffix(".py").rsplit("/", 1)
    mirror = f"{folder}/test_{stem}.py"
    found = [mirror] if (tree / "tests" / mirror).exists() else []
    for path in sorted((tree / "tests").rglob("test_*.py")):
        test = path.relative_to(tree / "tests").as_posix()
        if any(
            isinstance(node, ast.ImportFrom)
            and (
                node.module == module
                or (node.module == package and name in [alias.name for alias in node.names])
            )
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        ):
            found.append(test)
    return list(dict.fromkeys(found))


def judge(mutant: Mutant, tree: Path, entered: dict[str, list[str]], bound: int) -> str:
    """Return what noticed the change, or ""."""
    path = tree / "src" / mutant.file
    text = path.read_text(encoding="utf-8")
    lines = text.split("\n")
    if lines[mutant.line - 1] != mutant.before:
        at = [i for i, line in enumerate(lines) if line == mutant.before]
        if not at:
            return "the line is gone"
        lines[at[0]] = mutant.after
    else:
        lines[mutant.line - 1] = mutant.after
    spoilt = "\n".join(lines)
    try:
        ast.parse(spoilt)
    except SyntaxError:
        return "it is no Python"
    near = _importing(tree, mutant.file)
    spot = f"{mutant.file}:{mutant.function}"
    weight = {test: len(seen) for test, seen in entered.items()}
    inside = [t for t, seen in entered.items() if (
        spot in seen if mutant.function else any(s.startswith(mutant.file + ":") for s in seen)
    )]  # fmt: skip
    far = sorted(set(inside) - set(near), key=lambda test: weight[test])
    left_out = tuple(LEFT_OUT)
    path.write_text(spoilt, encoding="utf-8")
    try:
        for tests in (near, far):
            chosen = [f"tests/{t}" for t in tests
                      if not t.startswith(left_out) and (tree / "tests" / t).exists()]  # fmt: skip
            if chosen and (wrong := _pytest(tree, ["-x", *chosen], bound, 6 * bound)):
                return wrong
    finally:
        path.write_text(text, encoding="utf-8")
    return ""


def main() -> None:
    """Draw, try and report."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    asked.add_argument("folders", nargs="*", default=["plan", "learn", "book", "desk"])
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--count", type=int, default=40)
    asked.add_argument("--jobs", type=int, default=1)
    asked.add_argument("--bound", type=int, default=300, help="seconds of computing for one mutant")
    asked.add_argument("--map", type=Path, default=Path(tempfile.gettempdir()) / "entered.json")
    asked.add_argument("--again", type=Path, help="a report of before: try its survivors again")
    asked.add_argument("--report", type=Path, help="write every mutant and its end here")
    asked.add_argument("--show", action="store_true", help="only print the changes")
    told = asked.parse_args()
    if told.again:
        rows = [json.loads(row) for row in told.again.read_text(encoding="utf-8").splitlines()]
        mutants = [Mutant(**row["mutant"]) for row in rows if not row["killed_by"]]
    else:
        mutants = draw(told.folders, told.seed, told.count)
    if told.show:
        for one in mutants:
            print(f"{one.file}:{one.line}\n- {one.before}\n+ {one.after}")
        return
    with tempfile.TemporaryDirectory(prefix="argentry-mutants-") as spare:
        trees: Queue[Path] = Queue()
        for number in range(told.jobs):
            tree = Path(spare) / str(number)
            tree.mkdir()
            _copy(tree)
            trees.put(tree)
        entered = make_map(told.map, tree)

        def one(mutant: Mutant) -> str:
            mine = trees.get()
            try:
                wrong = judge(mutant, mine, entered, told.bound)
            finally:
                trees.put(mine)
            end = "killed  " if wrong else "SURVIVED"
            print(f"{end} {mutant.file}:{mutant.line}  {wrong}")
            print(f"  - {mutant.before.strip()}\n  + {mutant.after.strip()}", flush=True)
            if told.report:
                with told.report.open("a", encoding="utf-8") as report:
                    report.write(json.dumps({"mutant": asdict(mutant), "killed_by": wrong}) + "\n")
            return wrong

        with ThreadPoolExecutor(told.jobs) as pool:
            killed = sum(bool(wrong) for wrong in pool.map(one, mutants))
    print(f"{killed} of {len(mutants)} killed")


if __name__ == "__main__":
    main()
