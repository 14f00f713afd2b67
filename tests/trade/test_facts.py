"""Every fact of the trade carries unit, source, range and basis."""

import pytest

from argentry import trade


@pytest.mark.parametrize("subject", trade.subjects())
def test_each_fact_is_complete(subject):
    for fact in trade.facts(subject).values():
        assert fact.unit
        assert fact.source
        assert fact.low <= fact.value <= fact.high


@pytest.mark.parametrize("name", trade.tables())
def test_each_table_names_its_source(name):
    table = trade.table(name)
    assert "source:" in table.head.lower()
    assert len({len(column) for column in table.columns.values()}) == 1
