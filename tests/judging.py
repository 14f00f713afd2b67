"""Judging a making as one sentence, for tests."""

from dataclasses import replace

from argentry.book.judgements import judgement_of
from argentry.book.makings import making, rejudge


def judge(book, key, *, by="M", at=None, **change):
    """Change what is named of how a making is judged, by a row of the book and no event."""
    rejudge(book, key, replace(judgement_of(making(book, key)), **change), by, at)
