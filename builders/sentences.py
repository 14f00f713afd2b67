"""List every sentence a user may read, with its place and its placeholders.

Run: python builders/sentences.py            the list: place, kind, placeholders, sentence
     python builders/sentences.py --skipped  f-strings that hold a sentence and cannot be listed

A sentence is text of two words or more in the program (users do not read the documentation of
functions, but they do read that of commands), in the pages' templates and scripts, and in the
trade's facts. A sentence with values in it is a constant with named placeholders, such as
``"{seconds:.0f} s over time".format(seconds=late)``.
"""

from __future__ import annotations

import argparse
import ast
import re
import string
import tomllib
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "argentry"
WORD = re.compile(r"[^\W\d_]{2,}")
MARKUP = re.compile(r"</?[a-z]|\b(SELECT|INSERT|UPDATE|DELETE|CREATE|PRAGMA|ALTER|DROP)\b|[{};]$")
# Files whose text of several words is read by a program or a developer.
MACHINES = {"web/stream.py", "out/schemas.py", "out/day/band_text.py"}
QUOTED = re.compile(r'"([^"\n]*)"|`([^`\n]*)`')  # text in a script
REFUSALS = {"BadInput", "ArgentryError", "Refused", "UsageError"}
SCREEN = {"echo", "print", "secho", "update", "status", "add_row"}
# Not read by users: mistakes of the program itself, its own log, types and names for machines.
UNREAD = {
    "ValueError", "TypeError", "AssertionError", "RuntimeError", "KeyError", "text", "getLogger",
    "debug", "info", "warning", "error", "exception", "compile", "Literal", "TypeVar", "cast",
    "filterwarnings", "execute", "exec_driver_sql", "AttributeError", "encode", "strftime",
    "strptime", "CheckConstraint", "DDL",
}  # fmt: skip
# Keys of the trade's facts that users read.
READ_KEYS = {
    "title", "look_for", "goes_wrong", "past_range", "check", "text", "look", "remedy", "words",
    "look_at", "why", "note", "speak", "warning", "advice", "right", "what",
}  # fmt: skip


@dataclass(frozen=True)
class Sentence:
    """One sentence: where it stands, what kind it is, its text and the names of its values."""

    place: str
    kind: str
    text: str
    names: tuple[str, ...] = ()
    constant: bool = True


def sentences(root: Path = SOURCE) -> list[Sentence]:
    """Return every sentence in the program, its templates and its facts, in order of place."""
    found: list[Sentence] = []
    for file in sorted(root.rglob("*.py")):
        inside = str(file.relative_to(root))
        if inside in MACHINES or "/migrations/" in inside:  # what older books hold never changes
            continue
        found += of_module(file.read_text(encoding="utf-8"), str(file.relative_to(root)))
    for file in sorted((root / "web" / "templates").glob("*.html")):
        found += of_template(file.read_text(encoding="utf-8"), str(file.relative_to(root)))
    for file in sorted((root / "web" / "static").rglob("*.js")):
        found += of_script(file.read_text(encoding="utf-8"), str(file.relative_to(root)))
    for file in sorted((root / "trade" / "data").glob("*.toml")):
        facts = tomllib.loads(file.read_text(encoding="utf-8"))
        found += of_facts(facts, str(file.relative_to(root)))
    return found


def of_module(source: str, name: str) -> list[Sentence]:
    """Return the sentences of one module."""
    reader = _Reader(name)
    reader.visit(ast.parse(source))
    return reader.found


class _Reader(ast.NodeVisitor):
    def __init__(self, name: str) -> None:
        self.name, self.found, self.kind = name, [], "text"

    def visit_Module(self, node: ast.Module) -> None:
        self._body(node)

    visit_ClassDef = visit_Module  # noqa: N815 - the name the visitor asks for

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        command = any("command" in ast.unparse(d) or "group" in ast.unparse(d)
                      for d in node.decorator_list)  # fmt: skip
        if command and (help_ := ast.get_docstring(node)):
            self._add(node.lineno, "help", help_)
        self._body(node)

    visit_AsyncFunctionDef = visit_FunctionDef  # noqa: N815 - as above

    def _body(self, node: ast.Module | ast.ClassDef | ast.FunctionDef) -> None:
        for field, value in ast.iter_fields(node):
            if field in ("returns", "type_params"):
                continue
            for part in value if isinstance(value, list) else [value]:
                quoted = isinstance(part, ast.Expr) and isinstance(part.value, ast.Constant)
                if isinstance(part, ast.AST) and not quoted:  # documentation
                    self.visit(part)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_arg(self, node: ast.arg) -> None:
        """Leave annotations out."""

    def visit_Assert(self, node: ast.Assert) -> None:
        """Leave out what only a mistake of the program shows."""

    def visit_Call(self, node: ast.Call) -> None:
        function = node.func
        called = getattr(function, "attr", getattr(function, "id", ""))
        if called in UNREAD:
            return
        before = self.kind
        if called in REFUSALS:
            self.kind = "refusal"
        elif called in SCREEN:
            self.kind = "screen"
        self.visit(function)
        for part in node.args:
            self.visit(part)
        for keyword in node.keywords:
            self.kind = "help" if keyword.arg in ("help", "short_help", "epilog") else self.kind
            self.visit(keyword.value)
        self.kind = before

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, str):
            self._add(node.lineno, self.kind, node.value)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        said = "".join(
            str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
        )
        self._add(node.lineno, self.kind, said, constant=False)
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                self.visit(part.value)

    def _add(self, line: int, kind: str, said: str, *, constant: bool = True) -> None:
        # a refusal is put together from its parts: one word of it is a part of a sentence
        if is_sentence(said) or (not constant and kind == "refusal" and WORD.search(_bare(said))):
            names = _names(said) if constant else ()
            place = f"{self.name}:{line}"
            self.found.append(Sentence(place, kind, _one_line(said), names, constant))


def is_sentence(said: str) -> bool:
    """Return True for text of two words or more that is no markup, query or list of keys."""
    bare = _bare(said)
    return len(WORD.findall(bare)) >= 2 and " " in said.strip() and not MARKUP.search(bare)


def _bare(said: str) -> str:
    return re.sub(r"\{[^{}]*\}", " ", said)


def _names(said: str) -> tuple[str, ...]:
    try:
        return tuple(dict.fromkeys(n for _, n, _, _ in string.Formatter().parse(said) if n))
    except ValueError:  # braces of another language
        return ()


def _one_line(said: str) -> str:
    return " ".join(said.split())


class _Text(HTMLParser):
    def __init__(self, name: str) -> None:
        super().__init__()
        self.name, self.found, self.inside = name, [], []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.inside.append(tag)
        for key, value in attrs:
            if key in ("title", "aria-label", "placeholder", "alt") and value:
                self._add(value)

    def handle_endtag(self, tag: str) -> None:
        if tag in self.inside:
            del self.inside[len(self.inside) - 1 - self.inside[::-1].index(tag) :]

    def handle_data(self, data: str) -> None:
        if not {"script", "style"} & set(self.inside):
            self._add(data)

    def _add(self, said: str) -> None:
        line = self.getpos()[0]
        for one in re.split(r"\{%.*?%\}", said, flags=re.DOTALL):
            named = re.sub(r"\{\{\s*(.*?)\s*\}\}", lambda m: "{" + _tail(m[1]) + "}", one)
            if is_sentence(named):
                self.found.append(
                    Sentence(f"{self.name}:{line}", "page", _one_line(named), _names(named))
                )


def _tail(expression: str) -> str:
    words = re.findall(r"[a-z_]\w*", expression.partition("|")[0])
    return words[-1] if words else "value"


def of_template(source: str, name: str) -> list[Sentence]:
    """Return the sentences of one page's template."""
    reader = _Text(name)
    reader.feed(re.sub(r"\{#.*?#\}", "", source, flags=re.DOTALL))
    return reader.found


def of_script(source: str, name: str) -> list[Sentence]:
    """Return the sentences of one of the page's own scripts; a template with values is none."""
    found = []
    for line, text in enumerate(source.splitlines(), 1):
        for said, filled in QUOTED.findall(
            "" if text.lstrip().startswith(("//", "*", "/*")) else text
        ):
            constant = "${" not in filled
            one = re.sub(r"\$\{[^}]*\}", "{}", said or filled)
            if is_sentence(one) and "=>" not in one:
                place = f"{name}:{line}"
                names = _names(one) if constant else ()
                found.append(Sentence(place, "page", _one_line(one), names, constant))
    return found


def of_facts(facts: object, name: str, key: str = "") -> list[Sentence]:
    """Return the sentences of a file of facts that users read."""
    if isinstance(facts, dict):
        place = f"{name.partition('#')[0]}#{facts.get('key', key)}"
        return [one for k, value in facts.items() for one in of_facts(value, place, k)]
    if isinstance(facts, list):
        return [one for value in facts for one in of_facts(value, name, key)]
    if isinstance(facts, str) and key in READ_KEYS and is_sentence(facts):
        return [Sentence(f"{name}.{key}", "fact", _one_line(facts), _names(facts))]
    return []


def skipped(found: list[Sentence]) -> list[Sentence]:
    """Return the sentences that are no constants: they cannot be put into a catalogue."""
    return [one for one in found if not one.constant]


def main() -> None:
    """Print the list."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--skipped", action="store_true", help="only f-strings that hold a sentence")
    found = sentences()
    lost = skipped(found)
    for one in lost if asked.parse_args().skipped else found:
        print(one.place, one.kind, " ".join(one.names), one.text, sep="\t")
    print(f"{len(found)} sentences, {len(lost)} of them f-strings")


if __name__ == "__main__":
    main()
