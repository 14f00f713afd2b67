"""Bad inputs to the commands of materials: one sentence each, code 2, nothing half booked."""

from __future__ import annotations

import pytest

from argentry.cli.main import main
from argentry.keeping.stock.baths import list_baths, new_bath
from argentry.keeping.stock.lots import list_stock, new_lot
from argentry.keeping.studio import new_studio

NO_STUDIO = """\
mix|plates|--plates|0                                       | from 1 to 1000 plates
mix|plates|--plates|-3                                      | from 1 to 1000 plates
mix|plates|--size|huge                                      | is not a plate size
mix|plates|--size|quarter=                                  | write it as quarter=2
mix|plates|--size|quarter=x                                 | write it as quarter=2
mix|plates|nothing                                          | is not a recipe
mix|plates|--depth-mm|0                                     | from 0.5 to 100 mm
mix|plates|--balance-g|0                                    | from 0.0001 to 10 g
mix|plates|--balance-g|nan                                  | from 0.0001 to 10 g
mix|plates|--plates|1|--balance-g|1                         | does not show on a balance
mix|plates|--spare-pct|900                                  | from 0 to 300 %
mix|plates|--purity|0.9                                     | no salt is named
mix|plates|--purity|2|--instead|Na2S2O3.5H2O=Na2S2O3        | above 0 and up to 1
mix|plates|--instead|foo=bar                                | name a salt of the recipe
mix|plates|--instead|foo                                    | which salt stands for which
mix|plates|--file|/no/file.toml                             | there is no such file
mix|dilute|80|200|500                                       | between the two strengths
mix|dilute|200|80|0                                         | above 0
mix|spirit|40|96|100                                        | up to 40 %
mix|spirit|101|50|100                                       | from 1 to 100 %
mix|convert|1 pint                                          | US pint or imperial pint
mix|convert|x                                               | is not an amount
mix|convert|1 furlong                                       | is not a unit
plating|current|--um|0                                      | from 0.01 to 500
plating|current|--plates|0                                  | from 1 to 200
water                                                       | nothing is given
water|--us-cm|-1                                            | from 0 to 70000
water|--ph|15                                               | from 1 to 14
water|--hardness|10|--hardness-unit|xx                      | is not a unit of it
air|--temp|20|--rh|120                                      | from 1 to 100 %
air|--temp|300|--rh|50                                      | from -20 to 50
air|--temp|20|--rh|50|--box-lost-g|-1|--box-days|3          | the box gained 1 g
air|--temp|20|--rh|50|--headspace-l|2|--openings|-1         | from 0 to 10000
safety|show|nonsense                                        | is not known here
safety|show|bromine                                         | is refused""".splitlines()
IN_STUDIO = """\
bath|new|Fix|fix|--volume-ml|0                              | above 0
bath|new|Fix|fix|--volume-ml|-5                             | above 0
bath|new| |fix|--volume-ml|100                              | it is empty
bath|new|Fix 1|fix|--volume-ml|100                          | is in use
bath|new|Fix|mercury bath|--volume-ml|100                   | is refused
bath|new|Fix|fix|--volume-ml|100|--mixed|2999-01-01T10:00   | is in the future
bath|new|Fix|fix|--volume-ml|100|--mixed|yesterday          | is not a time
bath|use|Nope|--count|1                                     | no bath in use
bath|use|Fix 1                                              | none is named
bath|use|Fix 1|--count|-1                                   | bath Fix 1: less than nothing
bath|use|Fix 1|P9                                           | is not in the book
bath|use|Fix 1|--count|1|--size|huge                        | is not a plate size
bath|clearing|Nope|12                                       | no bath in use
bath|clearing|Fix 1|0                                       | clearing time
bath|discard|Nope                                           | no bath in use
stock|new|Iodine 2|0|g                                      | above 0
stock|new|Iodine 2|1|                                       | it is empty
stock|new|Iodine|1|g                                        | are left
stock|new|Iodine 2|1|g|--purity|2                           | up to 1
stock|new|Iodine 2|1|g|--price|-1                           | from 0
stock|new|Iodine 2|1|g|--received|2999-01-01                | is in the future
stock|new|Iodine 2|1|g|--expires|2000-01-01                 | before the lot came in
stock|new|Potassium cyanide|1|g                             | is refused
stock|new|Bromine|1|g                                       | is refused
stock|use|Nope|1                                            | no lot is named
stock|use|Iodine|0                                          | nothing is taken
stock|use|Iodine|101                                        | cannot be taken
stock|use|Iodine|-1                                         | cannot be put back
stock|weigh|Iodine|101                                      | from 0 to 100
stock|weigh|Nope|1                                          | no lot is named
stock|undo|Iodine                                           | nothing was taken
stock|note|Iodine                                           | nothing is noted
stock|need|--plates|-1                                      | from 0 to 1000
stock|need|--month-plates|nan                               | from 0 to 1000
waste|--from|2026-02-01|--until|2026-01-01                  | after the last day
waste|collected                                             | nothing is kept
cost|--from|2026-02-01|--until|2026-01-01                   | after the last day
label|bottle|Nope                                           | no lot is named
label|bottle|--paper|a5                                     | is not a paper
label|plate|Nope                                            | is not in the book
label|mixing|--plates|0                                     | from 1 to 100
label|room|--pdf|/no/folder/x.pdf                           | there is no folder""".splitlines()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A studio with a lot and a bath, which no bad input changes."""
    made = tmp_path_factory.mktemp("bad") / "studio"
    new_studio(made, {})
    new_lot(made, "Iodine", 100.0, "g")
    new_bath(made, "Fix 1", "fix", 500.0)
    before = _booked(made)
    yield made
    assert _booked(made) == before


def _booked(folder):
    lots = [(one.name, one.left) for one in list_stock(folder, all_of_them=True).lots]
    baths = list_baths(folder, all_of_them=True).baths
    return lots, [(one.name, one.plates_through, one.life.clearing_s) for one in baths]


def check(line, capsys, *more):
    words, told = line.rsplit("| ", 1)
    with pytest.raises(SystemExit) as stop:
        main([*words.rstrip().split("|"), *more])
    out, err = capsys.readouterr()
    assert (stop.value.code, out) == (2, "")
    assert err.startswith("argentry")
    assert told in err
    assert len(err.splitlines()) == 1


def test_there_are_more_than_sixty():
    assert len({*NO_STUDIO, *IN_STUDIO}) == len(NO_STUDIO) + len(IN_STUDIO) > 60


@pytest.mark.parametrize("line", NO_STUDIO, ids=lambda line: line[:50].strip())
def test_one_sentence(line, capsys):
    check(line, capsys)


@pytest.mark.parametrize("line", IN_STUDIO, ids=lambda line: line[:50].strip())
def test_one_sentence_and_nothing_is_booked(line, folder, capsys):
    check(line, capsys, "--studio", str(folder))
