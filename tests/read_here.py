"""Pictures are read in this process; that another one bounds it is shown with the reading."""

import pytest

from argentry.book.pictures import child, reading


@pytest.fixture(autouse=True, scope="module")
def read_here():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reading, "_told", child.told)
        yield
