"""Spoil single lines of the code at random and see whether a test notices.

Each mutant changes one line: an operator, a comparison, a constant, a negated condition, min for
max, a statement left out. Docstrings, type hints, words and messages stay as they are. It is made
in a copy of the tree, and the tests that mirror the file or import it are run, then those that
import what imports it, and so on.

A mutant is killed when a test fails, or does not end within the bound, and the same test passes
and ends in time without the change. A change whose line is gone or that does not parse is not
tried and counts on neither side.

    python builders/mutants.py --seed 8 --count 40 plan learn book desk keeping
    python builders/mutants.py --seed 10 --count 80 physics --by physics --by outside
    python builders/mutants.py --again survivors.jsonl      # the same changes, after better tests
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import json
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from itertools import pairwise
from multiprocessing import get_context
from pathlib import Path
from queue import Queue

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from builders.statements import statements  # noqa: E402

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
    """One changed line: its file under src, its number, the line before and after."""

    file: str
    line: int
    before: str
    after: str


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


def mutants_of(file: str, text: str) -> dict[int, list[Mutant]]:
    """Return the changes that each line of a file can take."""
    tree = ast.parse(text)
    finder = _Finder(text)
    finder.visit(tree)
    out: dict[int, list[Mutant]] = {}
    for line, start, end, new in finder.found:
        old = finder.lines[line - 1]
        changed = (old[:start] + new.encode() + old[end:]).decode()
        out.setdefault(line, []).append(Mutant(file, line, old.decode(), changed))
    return out


def _is_python(mutant: Mutant, text: str) -> bool:
    lines = text.split("\n")
    lines[mutant.line - 1] = mutant.after
    try:
        ast.parse("\n".join(lines))
    except SyntaxError:
        return False
    return True


def draw(folders: list[str], seed: int, count: int) -> list[Mutant]:
    """Draw lines at random, each as likely as another, and one change of each that is Python."""
    lines, texts = [], {}
    for folder in folders:
        for path in sorted((ROOT / "src/argentry" / folder).rglob("*.py")):
            if "migrations/versions" in path.as_posix():
                continue
            file = path.relative_to(ROOT / "src").as_posix()
            texts[file] = path.read_text(encoding="utf-8")
            lines += mutants_of(file, texts[file]).values()
    chance = random.Random(seed)
    drawn = []
    for line in chance.sample(lines, len(lines)):
        if len(drawn) == count:
            break
        if whole := [one for one in line if _is_python(one, texts[one.file])]:
            drawn.append(chance.choice(whole))
    return drawn


# --- which tests could notice


def _copy(where: Path) -> None:
    for name in COPIED:
        one = ROOT / name
        if one.is_dir():
            shutil.copytree(one, where / name, ignore=shutil.ignore_patterns("__pycache__"))
        elif one.exists():
            shutil.copy(one, where / name)


# every run begins as a copy of one process that has read these already
READ_ALREADY = ["pytest", "numpy", "scipy.special", "scipy.optimize", "scipy.stats"]
LONGEST = 2**33  # bytes: a change may also fill the memory


def _inside(tree: Path, arguments: list[str], output: Path) -> None:
    """Run tests in this process, which is there for nothing else."""
    os.setsid()
    resource.setrlimit(resource.RLIMIT_AS, (LONGEST, LONGEST))
    with output.open("w") as stream:
        for held in (1, 2):
            os.dup2(stream.fileno(), held)
    os.chdir(tree)
    os.environ["PYTHONPATH"] = str(tree / "src")
    sys.path[:0] = [str(tree / "src"), str(tree)]
    sys.argv = ["pytest", *arguments]
    import pytest

    code = int(pytest.main(arguments))
    sys.stdout.flush()
    os._exit(code)


def _pytest(tree: Path, arguments: list[str], bound_s: int) -> str:
    """Run tests in a copy, each within the bound; return "", or what failed."""
    options = ["-p", "no:cacheprovider", "-o", f"faulthandler_timeout={bound_s}"]
    output = tree / "pytest.out"
    process = get_context("forkserver").Process(
        target=_inside, args=(tree, [*options, *arguments], output)
    )
    process.start()
    process.join()
    with contextlib.suppress(ProcessLookupError):  # what a test that was cut short has begun
        os.killpg(process.pid or 0, signal.SIGKILL)
    told = output.read_text(encoding="utf-8", errors="replace")
    if process.exitcode in (0, 5):  # 5: the file holds no such test
        return ""
    wrong = [line for line in told.splitlines() if line.startswith(("FAILED ", "ERROR "))]
    return wrong[-1] if wrong else "NOT ENDED " + told[-300:]


def _imports(path: Path, known: set[str]) -> set[str]:
    found, text = set(), path.read_text(encoding="utf-8")
    walks = "modules_of" in text  # a test that looks at every module of a package
    for node in statements(text):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names} & known
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = {f"{node.module}.{alias.name}" for alias in node.names}
            inside = tuple(f"{name}." for name in names)
            found |= names & known or ({node.module} & known)
            if walks:
                found |= {one for one in known if one.startswith(inside)}
    return found


class Reach:
    """Which test files could notice a change of a module, the nearest first."""

    def __init__(self, left_out: tuple[str, ...] = LEFT_OUT, by: tuple[str, ...] = ("",)) -> None:
        self.names = {
            ".".join(path.relative_to(ROOT / "src").with_suffix("").parts): path
            for path in (ROOT / "src/argentry").rglob("*.py")
        }
        known = set(self.names)
        self.users: dict[str, set[str]] = {name: set() for name in known}
        for name, path in self.names.items():
            for other in _imports(path, known):
                self.users[other].add(name)
        for name in known:  # what brings a book up to date finds them by their place
            if ".book.migrations." in name:
                self.users[name].add("argentry.book.forms")
        here = ROOT / "tests"
        self.tests: dict[str, set[str]] = {}
        for path in sorted(here.rglob("test_*.py")):
            test = path.relative_to(here).as_posix()
            if test.startswith(by) and not test.startswith(left_out):
                self.tests[test] = _imports(path, known)

    def rounds(self, file: str, far: int) -> list[list[str]]:
        """Return test files by their distance: the mirror and importers, their importers ..."""
        module = file.removesuffix(".py").replace("/", ".")
        folder, _, stem = file.removeprefix("argentry/").removesuffix(".py").rpartition("/")
        mirror = f"{folder}/test_{stem}.py"
        own = {*folder.split("/"), f"test_{stem}.py"}
        # alone, as pytest begins with the slow ones of those it is given
        out = [[mirror]] if mirror in self.tests else []
        taken = {mirror}
        seen, edge = {module}, {module}
        for _ in range(far + 1):
            now = [t for t, used in self.tests.items() if t not in taken and used & edge]
            # those of the same rooms notice most
            now.sort(key=lambda test: -len(own & set(Path(test).parts)))
            taken |= set(now)
            out.append(now)
            edge = set().union(*(self.users[name] for name in edge)) - seen
            seen |= edge
        return out


def judge(mutant: Mutant, tree: Path, reach: Reach, far: int, bound_s: int) -> str | None:
    """Return what noticed the change, "" if nothing did, and None if it could not be made."""
    path = tree / "src" / mutant.file
    text = path.read_text(encoding="utf-8")
    lines = text.split("\n")
    place = mutant.line - 1
    if lines[place : place + 1] != [mutant.before]:  # the file has changed since
        if mutant.before not in lines:
            return None
        place = lines.index(mutant.before)
    lines[place] = mutant.after
    spoilt = "\n".join(lines)
    try:
        ast.parse(spoilt)
    except SyntaxError:
        return None
    try:
        for tests in reach.rounds(mutant.file, far):
            chosen = [f"tests/{test}" for test in tests if (tree / "tests" / test).exists()]
            while chosen:
                path.write_text(spoilt, encoding="utf-8")
                if not (wrong := _pytest(tree, ["-x", *chosen], bound_s)):
                    break
                # a test that fails without the change, too, has noticed nothing
                path.write_text(text, encoding="utf-8")
                end, _, test = wrong.partition(" - ")[0].partition(" ")
                again = chosen if end == "NOT" else [test.partition("[")[0]]
                if not (still := _pytest(tree, ["-x", *again], bound_s)):
                    return wrong
                file = still.split()[1].partition("::")[0]
                if file not in chosen:
                    raise SystemExit(f"without the change: {still}")
                chosen.remove(file)
    finally:
        path.write_text(text, encoding="utf-8")
    return ""


def main() -> None:
    """Draw, try and report."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    asked.add_argument("folders", nargs="*", default=["plan", "learn", "book", "desk", "keeping"])
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--count", type=int, default=40)
    asked.add_argument("--jobs", type=int, default=1)
    asked.add_argument("--bound", type=int, default=300, help="seconds for one test")
    asked.add_argument("--far", type=int, default=3, help="imports between a test and the change")
    asked.add_argument("--by", action="append", default=[], metavar="FOLDER",
                       help="only these folders of tests judge; all when not given")  # fmt: skip
    asked.add_argument("--skip", type=int, default=0, help="leave out that many of the drawn")
    asked.add_argument("--again", type=Path, help="a report of before: try its survivors again")
    asked.add_argument("--report", type=Path, help="write every mutant and its end here")
    asked.add_argument("--show", action="store_true", help="only print the changes")
    told = asked.parse_args()
    if told.again:
        rows = [json.loads(row) for row in told.again.read_text(encoding="utf-8").splitlines()]
        mutants = [Mutant(**row["mutant"]) for row in rows if not row["killed_by"]]
    else:
        mutants = draw(told.folders, told.seed, told.count)[told.skip :]
    if told.show:
        for one in mutants:
            print(f"{one.file}:{one.line}\n- {one.before}\n+ {one.after}")
        return
    get_context("forkserver").set_forkserver_preload(READ_ALREADY)
    with tempfile.TemporaryDirectory(prefix="argentry-mutants-") as spare:
        trees: Queue[Path] = Queue()
        for number in range(told.jobs):
            tree = Path(spare) / str(number)
            tree.mkdir()
            _copy(tree)
            trees.put(tree)
        reach = Reach(by=tuple(f"{folder}/" for folder in told.by) or ("",))

        def one(mutant: Mutant) -> str | None:
            mine = trees.get()
            try:
                wrong = judge(mutant, mine, reach, told.far, told.bound)
            finally:
                trees.put(mine)
            end = "not tried" if wrong is None else "killed" if wrong else "SURVIVED"
            print(f"{end:9} {mutant.file}:{mutant.line}  {(wrong or '')[:160]}")
            print(f"  - {mutant.before.strip()}\n  + {mutant.after.strip()}", flush=True)
            if told.report:
                with told.report.open("a", encoding="utf-8") as report:
                    report.write(json.dumps({"mutant": asdict(mutant), "killed_by": wrong}) + "\n")
            return wrong

        with ThreadPoolExecutor(told.jobs) as pool:
            ends = [wrong for wrong in pool.map(one, mutants) if wrong is not None]
    print(f"{sum(map(bool, ends))} of {len(ends)} killed")


if __name__ == "__main__":
    main()
