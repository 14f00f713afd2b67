"""A plate's page against the list of plates, in the same run: the demo's book and one of 2,000."""

from __future__ import annotations

import asyncio
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

TIMES, WARM, LARGE = 40, 4, 2000


def _filled(folder: Path, copies: int) -> object:
    """Return an open book with the demo's year, every row `copies` times as another plate."""
    import csv

    from argentry.book.open import open_book
    from argentry.demo.write import write_demo
    from argentry.exchange.plates.into_book import import_plates
    from argentry.exchange.plates.table import read_plate_table

    write_demo(folder)
    file = folder / "plates.csv"
    head, *rows = list(csv.reader(file.read_text(encoding="utf-8").splitlines()))
    label, session = head.index("plate"), head.index("session")
    more = []
    for copy in range(copies):
        for row in rows:
            other = list(row)
            if copy:
                other[label] = f"{row[label]}-{copy}"
                other[session] = str(int(row[session]) + 1000 * copy)
            more.append(other)
    with file.open("w", encoding="utf-8", newline="") as out:
        csv.writer(out).writerows([head, *more[:LARGE]])
    book = open_book(folder)
    import_plates(
        book, read_plate_table(file, time_zone="Europe/Madrid"), at=datetime(2026, 1, 2, tzinfo=UTC)
    )
    return book


async def _asked(app: object) -> tuple[list[float], list[float]]:
    """Ask for the list and the page by turns; return the milliseconds of each."""
    import httpx

    listed, shown = [], []
    transport = httpx.ASGITransport(app, client=("127.0.0.1", 50000))
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost:8440") as client:
        for number in range(TIMES + WARM):
            for path, told in (("/plates", listed), (f"/plates/P{number % 90 + 1:03d}", shown)):
                began = time.perf_counter()
                answer = await client.get(path)
                assert answer.status_code == 200, path
                if number >= WARM:
                    told.append(1000.0 * (time.perf_counter() - began))
    return listed, shown


def run() -> list[tuple[str, str]]:
    from argentry.book.engine import close_book
    from argentry.web.app import create_app

    rows = []
    for name, copies in (("demo", 1), ("2,000 plates", 18)):
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place) / "studio"
            book = _filled(folder, copies)
            listed, shown = asyncio.run(_asked(create_app(folder, book)))
            close_book(book)
        middle = [sorted(one)[len(one) // 2] for one in (listed, shown)]
        figures = f"{middle[0]:.1f} ms, {middle[1]:.1f} ms, {middle[1] / middle[0]:.2f}"
        rows.append((f"{name}: list (100 rows), plate's page, ratio; medians", figures))
    return rows
