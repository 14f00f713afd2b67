"""Synthetic pictures of coats, wedges and plates, and what the judge says of them."""


def run(draws=20):
    """Yield the figures of all three; ``python -m benchmarks --draws N seeing``."""
    from benchmarks.seeing import coat, plate, wedge

    yield from wedge.run(2 * draws)
    yield from plate.run(draws)
    coat.main(draws)
