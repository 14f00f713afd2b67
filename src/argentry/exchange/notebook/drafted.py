"""What the drafting of a mapping is given, and what it comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from argentry.exchange.plates.mapping import PlateMapping
from argentry.records.answers.notebook import DraftColumn, Question


@dataclass(frozen=True)
class Draft:
    """A drafted mapping.

    Attributes
    ----------
    mapping : PlateMapping
        With every suggestion taken.
    columns : tuple of DraftColumn
        Every column of the table, as it stands there.
    questions : tuple of Question
        What nobody has answered yet.
    titles : tuple of str
        Texts above the head; they stay in the file kept with the book.
    known : bool
        False when no column has a name that means anything: this is hardly a table of plates.
    """

    mapping: PlateMapping
    columns: tuple[DraftColumn, ...]
    questions: tuple[Question, ...]
    titles: tuple[str, ...]
    known: bool = True


@dataclass(frozen=True)
class Memory:
    """What a studio has answered before.

    Attributes
    ----------
    heads : Mapping[str, tuple of (str, str)]
        Plain name of a column to its field, ``"own"`` or ``"skip"``, and its unit.
    words : Mapping[str, Mapping[str, str]]
        Field to the maker's word, as `word_key` gives it, to ours.
    """

    heads: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
