"""The trade's facts as TOML with unit, source and range, and their one loader."""

from argentry.trade.facts import Fact, Table, arrays, facts, subjects, table, tables, toml, value

__all__ = ["Fact", "Table", "arrays", "facts", "subjects", "table", "tables", "toml", "value"]
