"""`argentry serve` on a machine whose clock is set: its offset in seconds stands in a file."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING

from argentry.cli.bench.serve import serve
from argentry.keeping import clock

if TYPE_CHECKING:
    from datetime import tzinfo

OFFSET = "ARGENTRY_CHAOS_OFFSET"


def now(_zone: tzinfo) -> datetime:
    offset = Path(os.environ[OFFSET]).read_text(encoding="ascii")
    return datetime.now(UTC) + timedelta(seconds=float(offset or 0.0))


if __name__ == "__main__":
    # the one place where the house reads the machine's clock
    clock.datetime = SimpleNamespace(now=now)  # type: ignore[assignment,misc]
    serve()
