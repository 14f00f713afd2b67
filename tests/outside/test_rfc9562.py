"""Ids against RFC 9562 (2024), "Universally Unique IDentifiers (UUIDs)": appendix A.6.

The RFC's worked example of version 7: 2022-02-22 14:22:22.00 GMT-05:00, unix_ts_ms 0x017F22E279B0,
rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F, variant 2; value 017F22E2-79B0-7CC3-98C4-DC0C0C07398F.
Read in test suites of public implementations that quote it; the RFC itself was not at hand.
"""

from datetime import datetime
from uuid import RFC_4122, UUID

from argentry.records.ids import id_time, is_id, make_id, new_id

EXAMPLE = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F".lower()


def test_the_worked_example():
    assert make_id(0x017F22E279B0, (0xCC3 << 62) | 0x18C4DC0C0C07398F) == EXAMPLE
    assert is_id(EXAMPLE)
    assert id_time(EXAMPLE) == datetime.fromisoformat("2022-02-22T14:22:22-05:00")


def test_the_standard_library_reads_version_and_variant():
    read = UUID(new_id())
    assert read.version == 7
    assert read.variant == RFC_4122
