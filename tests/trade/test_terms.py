"""Words of the trade: each in one sentence, none twice, all listed in the docs."""

from pathlib import Path

import pytest

from argentry.errors import ArgentryError
from argentry.trade import terms as module
from argentry.trade.terms import terms

ROOT = Path(__file__).resolve().parents[2]


def test_each_word_has_one_sentence_and_stands_in_the_docs():
    page = (ROOT / "docs/trade.md").read_text(encoding="utf-8")
    assert len(terms()) > 20
    for one in terms():
        assert one.meaning.endswith(".")
        assert f"| {one.word} |" in page
        assert one.meaning in page
    assert [one.word for one in terms()] == sorted((one.word for one in terms()), key=str.casefold)


def test_a_key_is_fit_for_a_page():
    keys = [one.key for one in terms()]
    assert len(set(keys)) == len(keys)
    assert all(key.replace("-", "").isalnum() for key in keys)


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        ({"word": "dose", "forms": [], "meaning": "Light. Much of it."}, "not one sentence"),
        ({"word": "dose", "forms": [], "meaning": "Light"}, "not one sentence"),
        ({"word": "dose", "forms": ["dose"], "meaning": "Light."}, "stands twice"),
        ({"word": "dose", "meaning": "Light."}, "forms"),
    ],
)
def test_an_entry_that_cannot_be_is_refused(monkeypatch, entry, why):
    monkeypatch.setattr(module, "toml", lambda _: {"term": [entry]})
    with pytest.raises(ArgentryError, match=why):
        module.terms.__wrapped__()
