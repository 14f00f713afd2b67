"""Ids: in order, unique, of the right form, whatever the clock does."""

import threading
import time
from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from argentry.records import ids
from argentry.records.ids import id_time, is_id, make_id, new_id


def test_ids_of_one_process_are_in_order_and_unique():
    made = [new_id() for _ in range(20_000)]
    assert made == sorted(made)
    assert len(set(made)) == len(made)
    assert all(is_id(one) for one in made[::500])


def test_threads_share_one_order():
    made = []

    def take():
        made.extend(new_id() for _ in range(2000))

    threads = [threading.Thread(target=take) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(made)) == 8000


def test_a_clock_that_is_set_back_or_stands_still_does_not_turn_the_order(monkeypatch):
    before = new_id()
    monkeypatch.setattr(time, "time_ns", lambda: 1_000_000_000_000_000_000)
    after = [new_id() for _ in range(10_000)]
    assert [before, *after] == sorted([before, *after])
    assert len(set(after)) == len(after)


def test_an_id_tells_its_time(monkeypatch):
    later = time.time_ns() + 3600 * 10**9
    monkeypatch.setattr(ids, "_last", ids._Last())
    monkeypatch.setattr(time, "time_ns", lambda: later)
    assert id_time(new_id()) == datetime.fromtimestamp(later // 10**6 / 1000, UTC)


@given(st.integers(0, 2**48 - 1), st.integers(0, 2**74 - 1))
def test_every_id_made_is_one(milliseconds, bits):
    made = make_id(milliseconds, bits)
    assert is_id(made)
    # the years past 9999 are no datetime; the bits must be right all the same
    assert int(made.replace("-", ""), 16) >> 80 == milliseconds


@given(st.one_of(st.text(), st.uuids(version=4).map(str), st.none(), st.integers()))
def test_nothing_else_is_an_id(other):
    assert not is_id(other)


def test_other_ways_to_write_an_id_are_none():
    made = make_id(0xABCDEF, 0xABCDEF)
    assert is_id(made)
    for other in (made.upper(), f"{{{made}}}", made.replace("-", ""), f"urn:uuid:{made}"):
        assert not is_id(other)
