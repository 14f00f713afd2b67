"""Keys of a terminal, one at a time, and lines of a pipe."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

ENTER, ESCAPE, RUB_OUT, LEFT_INPUT = "\n", "\x1b", "\x7f", ""
ONWARD = ("\x1b[C", "\x1b[B", "\x1b[6~", "\x1bOC", "\x1bOB")  # right, down, page down


def is_terminal() -> bool:
    """Return True when keys can be read one by one and a screen can be drawn."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return False
    try:
        import termios  # noqa: F401 - only asked whether it is there
    except ImportError:  # Windows: lines are read instead
        return False
    return True


@contextmanager
def single_keys() -> Iterator[None]:
    """Read keys without waiting for Enter, and put the terminal right at the end."""
    import termios
    import tty

    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)
    try:
        tty.setcbreak(handle)
        yield
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)


def keys(wait_s: float) -> Iterator[str | None]:
    """Yield one key after the other: None when none came in time, `LEFT_INPUT` at the end.

    An arrow or page key (a pedal may send one) comes as ``"space"``: it goes on.

    Parameters
    ----------
    wait_s : float
        [s]
    """
    import os
    import select

    handle = sys.stdin.fileno()
    while True:
        if not select.select([handle], [], [], wait_s)[0]:
            yield None
            continue
        read = os.read(handle, 1024)
        if not read:
            yield LEFT_INPUT
            return
        yield from split(read.decode("utf-8", "ignore"))


def split(text: str) -> list[str]:
    r"""Return the keys in what a terminal sent at once.

    Examples
    --------
    >>> split("a\x1b[Cb")
    ['a', 'space', 'b']
    """
    found = []
    while text:
        onward = next((code for code in ONWARD if text.startswith(code)), None)
        if onward is not None:
            found.append("space")
            text = text[len(onward) :]
        elif text.startswith(ESCAPE) and len(text) > 1 and text[1] in "[O":
            text = text[2:].lstrip("0123456789;")[1:]  # a key that means nothing here
        else:
            found.append(text[0])
            text = text[1:]
    return found
