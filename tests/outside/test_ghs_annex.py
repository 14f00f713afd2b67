"""Statements of the GHS against their published texts.

Texts of the H codes: UN, ST/SG/AC.10/30/Rev.9 (2021), annex 3, section 1, as public copies of the
annex give them (read there: H225, H290, H302, H312, H314, H315, H317, H318, H319, H332, H335, H336,
H372); H272, H400, H410, H411 and EUH031 (Regulation (EC) 1272/2008, annexes II, III) from memory.
Size of pictograms: the same regulation, annex I, 1.2.1: at least 1 cm2.
Pictograms: the figures of the standard's annex 1, in two free copies that agree (chemotion_ELN,
public/images/ghs, and the package ghs-hazard-pictogram 0.1.0), read there on 28 November 2026.
"""

import io

import numpy as np
import pytest
import typst
from PIL import Image

from argentry.out.drawing.pictograms import RED, pictogram
from argentry.out.materials.paper import LABEL_PAPERS
from argentry.trade.chemistry.hazards import PICTOGRAMS, statement

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


# Tenths of each cell that the standard's symbol covers with black, in ten rows of ten cells.
INK = {
    "GHS02": (
        "0000000000", "0000000000", "0000010000", "0000560000", "0003975000",
        "0005526000", "0001322000", "0000110000", "0000000000", "0000000000",
    ),
    "GHS03": (
        "0000000000", "0000000000", "0000440000", "0003782000", "0005555000",
        "0003113000", "0001671000", "0000110000", "0000000000", "0000000000",
    ),
    "GHS05": (
        "0000000000", "0000000000", "0000000000", "0002223000", "0012004100",
        "0044212000", "0000000000", "0000000000", "0000000000", "0000000000",
    ),
    "GHS07": (
        "0000000000", "0000000000", "0000230000", "0000560000", "0000450000",
        "0000120000", "0000440000", "0000000000", "0000000000", "0000000000",
    ),
    "GHS08": (
        "0000000000", "0000000000", "0000880000", "0000990000", "0000650000",
        "0018558200", "0006657000", "0000660000", "0000000000", "0000000000",
    ),
    "GHS09": (
        "0000000000", "0000000000", "0000000000", "0002300000", "0002710000",
        "0001612000", "0001456000", "0000000000", "0000000000", "0000000000",
    ),
}  # fmt: skip
PAGE = b"""#set page(width: 100pt, height: 100pt, margin: 0pt)
#image(bytes(sys.inputs.svg), format: "svg", width: 100pt)"""


@pytest.mark.parametrize("key", PICTOGRAMS)
def test_a_pictogram_has_its_ink_where_the_standards_has(key):
    drawn = typst.compile(PAGE, format="png", ppi=144.0, sys_inputs={"svg": pictogram(key)})
    pixels = np.asarray(Image.open(io.BytesIO(drawn)).convert("RGB")).astype(int)
    ink = (pixels.max(axis=2) < 110).reshape(10, 20, 10, 20).mean(axis=(1, 3))
    standard = np.array([[int(tenths) / 10.0 for tenths in row] for row in INK[key]])
    assert np.abs(ink - standard - 0.05).max() < 0.2
    assert np.corrcoef(ink.ravel(), standard.ravel())[0, 1] > 0.97
    red = [int(RED[n : n + 2], 16) for n in (1, 3, 5)]
    frame = (pixels[100] == red).all(axis=1)  # across the middle
    assert frame[:100].sum() == pytest.approx(0.079 * 200, abs=1.0)
    assert frame[100:].sum() == pytest.approx(0.079 * 200, abs=1.0)
