"""A stranger can find what a published fact rests on; a limit of an input is called a guard."""

import re

from tests.every import every

from argentry import trade

# Chapter, page, section, table, equation, article or entry; a DOI or an address; volume and page of
# a journal; a law, standard or card by its number; an equation of a reaction; a file of this house.
PLACE = re.compile(
    r"\bch\.|\bchapter |\bp\. ?\d|\bsections? |\bheading |\btable |\bequation |\beq\. |\bart\. "
    r"|\bentry\b|\bpages? |\bappendix |\bschedule |\bannex |\bdoi |https?://|\w\.(org|com|eu|biz)\b"
    r"|\d+ \(\d{4}\) \d|\d{4}, \w[\w. ]+ \d+, \d|\bCFR \d|\bCard \d|\bEUH\d|\bISO[ /]\w*|ASTM G\d"
    r"|\bEPA\d|Glossary of Meteorology, |atomic weights|Handbook 44|profile of |S2O3|\.toml|\.csv"
)
GUARD = re.compile(r"[Rr]ange accepted|^Where people live|range over which the model was compared")


def entries():
    """Every fact and every entry of a list: where, how known, source."""
    for subject in trade.subjects():
        for key, fact in trade.facts(subject).items():
            yield f"{subject}/{key}", fact.basis, fact.source
        content = trade.toml(subject)
        for name, rows in content.items():
            for row in rows if isinstance(rows, list) else ():
                if isinstance(row, dict) and "basis" in row:
                    source = row.get("source") or content["sources"][row["source_key"]]
                    what = next(
                        (str(row[key]) for key in ("key", "name", "names", "of") if key in row), ""
                    )
                    yield f"{subject}/{name} {what}", row["basis"], source


ENTRIES = list(entries())


@every("where, source", [(w, s) for w, b, s in ENTRIES if b == "published"])
def test_a_published_fact_names_the_place_and_not_the_book_alone(where, source):
    if source == "The name itself":  # of a substance: nothing to look up
        return
    assert PLACE.search(source), f"{where}: {source}"


def test_the_rule_knows_a_book_alone():
    for source in (
        "Humphrey, American Hand Book of the Daguerreotype, 5th ed. 1858",
        "Snelling 1849",
    ):
        assert not PLACE.search(source)


def test_a_limit_of_an_input_is_called_a_guard():
    for where, basis, source in ENTRIES:
        if GUARD.search(source):
            assert basis in ("guard", "seed"), f"{where}: {source}"  # a seed's value is one's own
    assert sum(basis == "guard" for _, basis, _ in ENTRIES) >= 8


def test_works_of_journals_carry_a_title_or_a_doi():
    """Volume and page alone send a stranger to a shelf that he may not have."""
    for subject in ("air", "cloud", "exposure", "iodine", "light"):
        for key, fact in trade.facts(subject).items():
            if fact.basis == "published" and re.search(r"\d+ \(\d{4}\) \d", fact.source):
                titled = re.search(r"doi |, [A-Z][a-z]+ [a-z ]{12,}", fact.source)
                assert titled or "as kasten_loss" in fact.source, f"{subject}/{key}: {fact.source}"
