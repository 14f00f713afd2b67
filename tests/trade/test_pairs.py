"""200 pairs of materials, judged by hand from chemistry (pairs.csv): no dangerous pair passes."""

import csv
from pathlib import Path

from tests.every import every

from argentry.errors import BadInput
from argentry.needs.recipe import recipe_check

HERE = Path(__file__).parent


def rows(name):
    with (HERE / name).open(encoding="utf-8") as stream:
        return list(csv.DictReader(line for line in stream if not line.startswith("#")))


PAIRS = rows("pairs.csv")


def answer(*ingredients):
    try:
        checked = recipe_check(ingredients)
    except BadInput as no:
        return "refused" if " is refused: " in str(no) else str(no)
    return "unknown" if checked.refused is None else "passes"


def test_there_are_200_pairs_each_with_its_source():
    assert len(PAIRS) >= 200
    assert all(all(pair.values()) for pair in PAIRS)
    assert {pair["answer"] for pair in PAIRS} == {"refused", "passes", "unknown"}


@every("pair", PAIRS + rows("spellings.csv"))
def test_each_pair(pair):
    for a, b in ((pair["a"], pair["b"]), (pair["b"], pair["a"])):
        for dress in (str, str.upper, str.lower):
            assert answer(dress(a), dress(b)) == pair["answer"]
    assert answer(f"{pair['a']} + {pair['b']}") == pair["answer"]
