"""The order in which the parts of a bath are dissolved and poured, checked step by step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from argentry.errors import BadInput
from argentry.trade.entries import made
from argentry.trade.facts import toml
from argentry.trade.refusals import check_recipe, substances

DOES = ("dissolve", "pour", "filter")
STEP = "step {number}"


@dataclass(frozen=True)
class Rule:
    """One rule of order.

    Attributes
    ----------
    key : str
        Name within ``recipes.toml``.
    pours, into : str
        What is poured into what, never the other way; classes of ``refusals.toml``, or empty.
    first, then : str
        What is dissolved before what in the same water; classes, or empty.
    why, right : str
        What goes wrong, and what would be right.
    basis, source : str
        How it is known.
    """

    key: str
    pours: str
    into: str
    first: str
    then: str
    why: str
    right: str
    basis: str
    source: str


@dataclass(frozen=True)
class Step:
    """One step of a recipe's order.

    Attributes
    ----------
    do : str
        ``"dissolve"``, ``"pour"`` or ``"filter"``.
    part : int
        Which part, or the vessel that it stands in, counted from 1.
    into : int
        The vessel it goes into, counted from 1; 0: its own.
    """

    do: str
    part: int
    into: int = 0


@cache
def rules() -> tuple[Rule, ...]:
    """Return the rules of order of ``recipes.toml``."""
    empty = ("pours", "into", "first", "then")
    return tuple(made(Rule, "recipes." + row["key"], row, empty) for row in toml("recipes")["rule"])


def read_sequence(where: str, rows: Sequence[Mapping[str, object]]) -> tuple[Step, ...]:
    """Return a recipe's steps as its data have them.

    Raises
    ------
    BadInput
        If a step lacks something or does what is not known.
    """
    out = []
    for number, row in enumerate(rows, 1):
        place = "{where}, step {number}".format(where=where, number=number)
        if not isinstance(row, dict) or set(row) - {"do", "part", "into"}:
            raise BadInput(place, "it is not a step", "write { do, part, into }")
        do, part, into = row.get("do"), row.get("part"), row.get("into", 0)
        if do not in DOES:
            raise BadInput(
                place, "{do!r} is not done here", "use one of {known}", do=do, known=", ".join(DOES)
            )
        for number_given in (part, into):
            if isinstance(number_given, bool) or not isinstance(number_given, int):
                raise BadInput(place, "part or into is not a whole number", "count parts from 1")
        out.append(Step(str(do), int(str(part)), int(str(into))))
    return tuple(out)


def check_order(where: str, parts: Sequence[Sequence[str]], sequence: Sequence[Step]) -> None:
    """Refuse an order that spoils a bath, leaves a part out, or lets meet what must not.

    Parameters
    ----------
    where : str
        The recipe, for the sentence.
    parts : sequence of sequence of str
        What each part holds: its substance and what it is dissolved in.
    sequence : sequence of Step
        What is done, in order.

    Raises
    ------
    BadInput
        If a step breaks a rule of order or a refusal, or not everything ends in one vessel.
    """
    vessels: dict[int, list[str]] = {}
    undone = set(range(1, len(parts) + 1))
    for number, step in enumerate(sequence, 1):
        place = "{where}, step {number}".format(where=where, number=number)
        if not 1 <= step.part <= len(parts) or not 0 <= step.into <= len(parts):
            raise BadInput(place, "there is no such part", "count parts from 1")
        if step.do == "dissolve":
            if step.part not in undone:
                raise BadInput(place, "the part is dissolved already", "dissolve each part once")
            undone.discard(step.part)
            target = step.into or step.part
            if step.into and step.into not in vessels:
                raise BadInput(place, "that vessel is empty", "dissolve the part it holds first")
            _meet(place, vessels.setdefault(target, []), parts[step.part - 1], poured=False)
        elif step.part not in vessels:
            raise BadInput(place, "that vessel is empty", "dissolve the part it holds first")
        elif step.do == "pour":
            if step.into not in vessels or step.into == step.part:
                raise BadInput(place, "there is nothing to pour into", "name another full vessel")
            _meet(place, vessels[step.into], vessels.pop(step.part), poured=True)
    if undone or len(vessels) != 1:
        raise BadInput(
            where, "its steps do not join all parts", "dissolve each part and pour them into one"
        )


def _meet(place: str, there: list[str], comes: Sequence[str], *, poured: bool) -> None:
    """Put what comes into a vessel, once no rule and no refusal speaks against it."""
    held, new = _classes(there), _classes(comes)
    for rule in rules():
        turned = poured and rule.pours and rule.pours in held - new and rule.into in new - held
        late = rule.first and rule.first in new - held and rule.then in held
        if turned or late:
            raise BadInput(place, rule.why, rule.right)
    there.extend(comes)
    check_recipe(there)


def _classes(names: Sequence[str]) -> frozenset[str]:
    return frozenset().union(*(substances(name) for name in names))
