"""Old measures in and out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.trade.chemistry.measures import measure, measures, read_amount, written_in


def test_no_word_means_two_measures():
    words = [word for one in measures() for word in one.words]
    assert len(words) == len(set(words))


def test_what_is_printed_is_read():
    """A refusal said to write imperial fl drachm, and that was refused as well."""
    assert [one.says for one in measures() if measure(one.says) is not one] == []


@given(st.sampled_from(measures()), st.floats(0.01, 900.0))
def test_out_and_in_again(one, number):
    text = f"{number!r} {one.words[0]}"
    if number * one.size > 1e6:
        return
    amount, kind = read_amount(text)
    assert kind == one.kind
    assert written_in(amount, one.key) == pytest.approx(number)


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("15 gr", 0.9720),
        ("1/2 oz", 14.1748),
        ("1 1/2 oz", 42.5243),
        ("1\u00bd oz", 42.5243),
        ("\u215b oz", 3.54369),
        ("2,5 g", 2.5),
        ("0,125 g", 0.125),
        ("1 imperial fl drachm", 3.55163),
        ("1 scruple", 1.29598),  # 20 grains
        ("3 Drachms", 11.6638),
        ("1 US pint", 473.176),
        ("1 imperial pint", 568.261),
        ("20 imperial minims", 1.18388),
        ("1 lb", 453.592),
        ("0.5 L", 500.0),
        ("1 US fl. oz.", 29.5735),
    ],
)
def test_as_typed(text, amount):
    assert read_amount(text)[0] == pytest.approx(amount, rel=1e-4)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("15", "not an amount"),
        ("gr", "not an amount"),
        ("1/0 oz", "not an amount"),
        ("-3 g", "out of range"),
        ("0 g", "out of range"),
        ("1e9 kg", "is not a unit"),
        ("3 stone", "is not a unit"),
        ("1 pint", "write US pint or imperial pint"),
        ("20 minims", "write US minim or imperial minim"),
        ("2 fluid drachms", "write US fl dr or imperial fl drachm"),
        ("1 fluid dram", "write US fl dr or imperial fl drachm"),
        ("1,000 g", "write 1000 or 1.000"),
        ("1 2 g", "not"),
        ("4 fl oz", "write US fl oz or imperial fl oz"),
        ("9999999 kg", "out of range"),
    ],
)
def test_bad_amounts(text, words):
    with pytest.raises(BadInput, match=words):
        read_amount(text)


def test_a_key_is_a_name_as_well():
    assert measure("us_pint").size == pytest.approx(473.176473)
