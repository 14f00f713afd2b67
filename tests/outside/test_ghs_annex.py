"""Statements of the GHS against their published texts.

Texts of the H codes: UN, ST/SG/AC.10/30/Rev.9 (2021), annex 3, section 1, as public copies of the
annex give them (read there: H225, H290, H302, H312, H314, H315, H317, H318, H319, H332, H335, H336,
H372); H272, H400, H410, H411 and EUH031 (Regulation (EC) 1272/2008, annexes II, III) from memory.
Size of pictograms: the same regulation, annex I, 1.2.1: at least 1 cm2.
"""

import pytest

from argentry.out.materials.paper import LABEL_PAPERS
from argentry.trade.chemistry.hazards import statement

TEXTS = {
    "H225": "Highly flammable liquid and vapour",
    "H272": "May intensify fire; oxidizer",
    "H290": "May be corrosive to metals",
    "H302": "Harmful if swallowed",
    "H312": "Harmful in contact with skin",
    "H314": "Causes severe skin burns and eye damage",
    "H315": "Causes skin irritation",
    "H317": "May cause an allergic skin reaction",
    "H318": "Causes serious eye damage",
    "H319": "Causes serious eye irritation",
    "H332": "Harmful if inhaled",
    "H335": "May cause respiratory irritation",
    "H336": "May cause drowsiness or dizziness",
    "H372": "Causes damage to organs through prolonged or repeated exposure",
    "H400": "Very toxic to aquatic life",
    "H410": "Very toxic to aquatic life with long lasting effects",
    "H411": "Toxic to aquatic life with long lasting effects",
    "EUH031": "Contact with acids liberates toxic gas",
}


@pytest.mark.parametrize("code", TEXTS)
def test_a_statement_reads_as_the_annex_has_it(code):
    assert statement(code) == TEXTS[code]


@pytest.mark.parametrize("paper", LABEL_PAPERS)
def test_a_pictogram_covers_a_square_centimetre(paper):
    # a square standing on its corner covers half of the square around it: side over the diagonal
    across = LABEL_PAPERS[paper].pictogram
    assert across >= 10.0
