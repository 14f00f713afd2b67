"""The one family of errors a maker may see: what is wrong, where, and what would be right."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from string import Formatter
from typing import Any

# Controls, line separators, halves of letters, and the marks that turn the direction of writing:
# in a terminal or on a page they can make a text look like another.
_UNSAFE = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
# the floors below name a value by its option; a value in capitals or digits may follow
_OPTION = re.compile(r"(?<![\w-])--([a-z][a-z0-9-]*)( [A-Z]{2,}\b| (?=\d))?")
_COMMAND = re.compile(r"\bargentry (?:[a-z-]+ )+$")  # what is typed in a terminal stays as it is
LONGEST_SHOWN = 40  # letters of what was typed, in a sentence
UNSAFE = "it holds a character that cannot be shown ({sign})", "give plain text in one line"


def harmless(text: str) -> str:
    r"""Return a text with every sign that could act on a terminal or turn the writing written out.

    Examples
    --------
    >>> print(harmless("P1\x1b[2J"), harmless("a\u202eb"), harmless("größer"))
    P1\x1b[2J a\u202eb größer
    """
    return _UNSAFE.sub(lambda found: _written_out(found[0]), text)


def unsafe_sign(text: str) -> str | None:
    """Return the first sign of a text that `harmless` would write out, written out; else None."""
    found = _UNSAFE.search(text)
    return None if found is None else _written_out(found[0])


def of_unicode(stream: Any) -> bool:
    """Say whether every sign can be written to a stream."""
    return str(getattr(stream, "encoding", None) or "utf-8").lower().startswith("utf")


def _written_out(sign: str) -> str:
    number = ord(sign)
    return f"\\x{number:02x}" if number < 256 else f"\\u{number:04x}"


class _Cut(Formatter):
    """Puts values into a sentence; what was typed, shown in quotes, is cut to `LONGEST_SHOWN`."""

    def convert_field(self, value: Any, conversion: str | None) -> Any:
        """Return a value as its place asks for it."""
        if conversion == "r" and isinstance(value, str):
            value = value[:LONGEST_SHOWN]
        return super().convert_field(value, conversion)


class ArgentryError(Exception):
    """A failure told to the maker in one sentence."""


class BadInput(ArgentryError):  # noqa: N818 - reads as what it is: the input was bad
    """Input that cannot be used; the command line turns it into one sentence and exit code 2.

    Parameters
    ----------
    where : str
        The option, file and key, or row and column, that holds the value.
    what : str
        What is wrong with it, with the value as given.
    right : str
        What would be right: a range, a form, or what to do.
    **values
        What stands in the named places of `what` and `right`, so that both are whole sentences
        which a catalogue can list. Without values neither is touched. A text in a place such as
        ``{text!r}`` is cut to 40 letters.
    """

    def __init__(self, where: str, what: str, right: str, **values: object) -> None:
        if values:
            what, right = (_Cut().vformat(part, (), values) for part in (what, right))
        self.where, self.what, self.right = where, what, right
        # one line whatever a name or a file puts into it
        super().__init__(harmless(" ".join(f"{where}: {what}; {right}.".split())))

    def __reduce__(self) -> tuple[type[BadInput], tuple[str, str, str]]:
        """Say how it comes whole out of another process."""
        return type(self), (self.where, self.what, self.right)


LARGEST = 1e300  # shown in place of a whole number with too many digits to be shown


def check_range(
    where: str, value: float, low: float, high: float, unit: str, *, open_low: bool = False
) -> float:
    """Return `value` when it is finite and within [low, high], else raise `BadInput`.

    Parameters
    ----------
    where : str
        Name of the option or key, for the sentence.
    value : float
        The number given. [unit]
    low, high : float
        Allowed range. [unit]
    unit : str
        Unit shown to the maker, for example ``"nm"``; ``"1"``, a pure number, is not shown.
    open_low : bool
        True when `low` itself is not allowed (for example a gap of 0 mm).

    Returns
    -------
    float
        The value, unchanged.

    Raises
    ------
    BadInput
        If the value is NaN, infinite or out of range.
    """
    unit = "" if unit == "1" else unit
    if isinstance(value, str):  # in a notebook nothing has turned it into a number yet
        raise not_a_number(where, value)
    inside = low < value <= high if open_low else low <= value <= high
    if not inside:  # NaN fails both comparisons and lands here
        if isinstance(value, int):
            value = max(min(value, LARGEST), -LARGEST)
        span = (
            "give a number above {low:g} and up to {high:g} {unit}".format(
                low=low, high=high, unit=unit
            )
            if open_low
            else "give a number from {low:g} to {high:g} {unit}".format(
                low=low, high=high, unit=unit
            )
        )
        raise BadInput(
            where,
            "{value:g} {unit} is out of range".format(value=value, unit=unit).replace("  ", " "),
            span.rstrip(),
        )
    return value


def with_options(sentence: str, named: Callable[[str, str], str]) -> str:
    """Return a sentence with its options named otherwise, but for those of a whole command.

    Parameters
    ----------
    sentence : str
        For a maker.
    named : callable
        Given an option without its dashes and what follows it: a blank before a figure, a blank
        and a word in capitals, or nothing.

    Examples
    --------
    >>> with_options("give --gap-mm 20, or: argentry fume --box B", lambda name, _: name.upper())
    'give GAP-MM20, or: argentry fume --box B'
    """

    def written(option: re.Match[str]) -> str:
        typed = _COMMAND.search(sentence[: option.start()])
        return option[0] if typed else named(option[1], option[2] or "")

    return _OPTION.sub(written, sentence)


def not_a_number(where: str, given: str) -> BadInput:
    """Return the refusal of words where a number belongs."""
    what = "{given!r} is text".format(given=given[:40])
    return BadInput(where, what, "give a number, without quotes")


def did_you_mean(word: str, known: Iterable[str], otherwise: str, cutoff: float = 0.6) -> str:
    """Return what would be right for an unknown word: the one near it, else `otherwise`."""
    from difflib import get_close_matches

    near = get_close_matches(word, list(known), n=1, cutoff=cutoff)
    return "did you mean {near}".format(near=near[0]) if near else otherwise


def unknown(where: str, what: str, name: str, known: tuple[str, ...]) -> BadInput:
    """Return the refusal of a name that is none of those known."""
    right = did_you_mean(name, known, "give one of {known}".format(known=", ".join(known)))
    return BadInput(where, "there is no {what} {name}".format(what=what, name=name), right)
