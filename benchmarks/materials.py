"""The page of materials on a book of 20,000 plates, beside the page of plates in the same run."""

import statistics
import tempfile
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from benchmarks.server import PLATES, build

ASKED, WARM = 200, 10
LOTS, BATHS = 24, 40
NAMES = (
    *("Iodine", "Gold chloride", "Sodium thiosulfate", "Cover glass", "Rouge", "Rotten stone"),
    *("Distilled water", "Sealing tape", "Labels", "Ethanol", "Silvered plates", "Acetone"),
)
UNITS = ("g", "g", "g", "piece", "g", "g", "L", "m", "piece", "mL", "piece", "mL")


def _fill(folder: Path) -> None:
    """Give the studio lots of every material, half of them old, and baths in use and gone."""
    from argentry.keeping.stock.baths import discard_bath, new_bath, use_bath
    from argentry.keeping.stock.lots import new_lot, use_stock
    from argentry.records.material import LotFacts

    for number in range(LOTS):
        name, unit = NAMES[number % len(NAMES)], UNITS[number % len(NAMES)]
        lot = f"{name} {number}"
        facts = LotFacts(price=20.0 + number, purity=0.99, expires_on=date(2036, 1, 1))
        new_lot(folder, lot, 100.0, unit, supplier="a shop", facts=facts)
        use_stock(folder, lot, 10.0 + number)
    for number in range(BATHS):
        name = f"F{number}"
        new_bath(folder, name, "fix" if number % 2 else "gild", 500.0)
        use_bath(folder, name, count=number + 1)
        if number < BATHS - 6:
            discard_bath(folder, name)


def _p95(values: list[float]) -> float:
    return sorted(values)[int(0.95 * len(values))]


def run() -> Iterator[tuple[str, str]]:
    """Ask the whole page again and again, in this process and without a network."""
    import asyncio

    import httpx

    from argentry.book.open import open_book
    from argentry.keeping.studio import new_studio
    from argentry.web.app import create_app
    from argentry.web.settings import Settings

    with tempfile.TemporaryDirectory() as beside:
        folder = Path(beside)
        new_studio(folder, {})
        build(folder, 1000)
        _fill(folder)
        app = create_app(
            folder, open_book(folder), settings=Settings(plan_ahead=False), show_code=print
        )

        async def ask() -> dict[str, tuple[list[float], int]]:
            took: dict[str, tuple[list[float], int]] = {}
            local = httpx.ASGITransport(app, client=("127.0.0.1", 50000))
            base = "http://localhost:8440"
            async with httpx.AsyncClient(transport=local, base_url=base) as client:
                for path in ("/plates", "/materials"):
                    times, size = [], 0
                    for turn in range(ASKED + WARM):
                        began = time.perf_counter()
                        answer = await client.get(path)
                        if turn >= WARM:
                            times.append(1000.0 * (time.perf_counter() - began))
                        assert answer.status_code == 200
                        size = len(answer.content)
                    took[path] = (times, size)
            return took

        for path, (times, size) in asyncio.run(ask()).items():
            what = f"{path} with {PLATES:,} plates, {ASKED} times: median, p95"
            middle, high = statistics.median(times), _p95(times)
            yield what, f"{middle:.1f} ms, {high:.1f} ms ({size // 1000} kB)"
