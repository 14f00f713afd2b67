"""Synthetic pictures of coats, wedges, plates, edges and changes, and what the judge says."""


def run(draws=20):
    """Yield the figures of all; ``python -m benchmarks --draws N seeing``."""
    from benchmarks.seeing import blur, change, coat, edges, plate, ripening, scale, wedge

    yield from wedge.run(2 * draws)
    yield from plate.run(draws)
    yield from blur.run(draws)
    yield from edges.run(draws)
    yield from ripening.run(draws)
    yield from change.run(draws)
    yield from scale.run(draws)
    coat.main(draws)
