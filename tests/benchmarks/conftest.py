"""The modules of the benchmark of families; they lie outside of the package."""

from __future__ import annotations

from types import SimpleNamespace

import pytest


@pytest.fixture(scope="module")
def bench(request):
    """Return the modules of the benchmark; they lie outside of the package."""
    path = pytest.MonkeyPatch()
    path.syspath_prepend(str(request.config.rootpath))
    from benchmarks.families import doors, draw, forms, peers, report, scores, studio
    from benchmarks.families.measures import (
        advice,
        batch,
        causes,
        following,
        numbers,
        odds,
        plate_causes,
        pooling,
    )

    yield SimpleNamespace(
        doors=doors, draw=draw, forms=forms, peers=peers, report=report, scores=scores,
        studio=studio, causes=causes, odds=odds, plate_causes=plate_causes,
        advice=advice, batch=batch, following=following, numbers=numbers,
        pooling=pooling,
    )  # fmt: skip
    path.undo()
