"""Few arenas of the C library's allocator, so that a server's memory stays flat.

glibc gives each thread an arena of its own, up to eight a core; what a thread frees there serves no
other, and a server whose requests wander over its threads grows for minutes for nothing (measured:
`make chaos`, load). Python holds its lock while it allocates, so that more than two bring nothing.
"""

from __future__ import annotations

import contextlib
import ctypes

M_ARENA_MAX = -8  # <malloc.h> of the GNU C library; mallopt(3)
ARENAS = 2


def keep_few_arenas() -> None:
    """Let the allocator make no more arenas than two; nothing on other C libraries."""
    with contextlib.suppress(OSError, AttributeError):  # no such function there
        ctypes.CDLL(None).mallopt(M_ARENA_MAX, ARENAS)
