"""Letters beyond the shipped fonts never stop a sheet: a name is the maker's own."""

from __future__ import annotations

import io
import json
from datetime import date

import pytest
import typst
from pypdf import PdfReader

from argentry.keeping.stock.labels import Label
from argentry.out.materials.labels import labels_pdf
from argentry.out.typeset import NO_LETTER, compiler, pdf


def label(title):
    data = labels_pdf([Label(title=title, lines=("Inés & Łucja",))], "a4", day=date(2026, 6, 3))
    return PdfReader(io.BytesIO(data)).pages[0].extract_text()


@pytest.mark.parametrize("letters", ["日本", "\U0001f468\u200d\U0001f469"])
def test_a_letter_that_no_font_has_is_a_box(monkeypatch, letters):
    monkeypatch.setattr("argentry.out.typeset.compiler", lambda name, machine=False: compiler(name))
    assert label(f"Bath {letters}").splitlines() == [f"Bath {2 * NO_LETTER}", "Inés & Łucja"]


def test_a_name_in_another_writing_is_on_the_sheet():
    assert any(one in label("Bath 日") for one in ("Bath 日", f"Bath {NO_LETTER}"))


def test_another_fault_of_a_template_is_not_hidden():
    with pytest.raises(typst.TypstError):
        pdf("label.typ", {"data": json.dumps({})})
