"""Write twelve invented pictures with their answers into docs/seeing.md and docs/pictures/seen.

Run: python builders/docs_seeing.py

What was drawn stands beside what was said, so that misses are seen as well. Seeds were taken in
their order and not chosen by their answers.
"""

from __future__ import annotations

import io
import sys
from base64 import b64encode
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from PIL import Image

ROOT = Path(__file__).parents[1]
if str(ROOT) not in sys.path:  # the pictures are drawn by the benchmarks
    sys.path.insert(0, str(ROOT))

from benchmarks.seeing.change_scene import change_scene  # noqa: E402
from benchmarks.seeing.plate_scene import plate_scene  # noqa: E402
from benchmarks.seeing.scene import scene  # noqa: E402
from benchmarks.seeing.wedge_scene import wedge_scene  # noqa: E402

from argentry.keeping.seeing.change import AskedChange, judge_change_files  # noqa: E402
from argentry.keeping.seeing.coat import AskedCoat, judge_coat_file  # noqa: E402
from argentry.keeping.seeing.plate import AskedPlate, judge_plate_file  # noqa: E402
from argentry.keeping.seeing.wedge import AskedWedge, judge_wedge_file  # noqa: E402
from argentry.out.plates.seen_pictures import marked_picture, marks_of  # noqa: E402
from argentry.records.plain import plain  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable

PAGE, FOLDER = ROOT / "docs" / "seeing.md", ROOT / "docs" / "pictures" / "seen"
BEGIN, END = "<!-- begin: made by builders/docs_seeing.py -->", "<!-- end -->"
SHOWN_PX, QUALITY, ACROSS = 480, 72, 480.0
FIRST = 71001  # seeds of the twelve, in order
HEAD = "| picture | drawn | said |\n|---|---|---|\n"
ROW = "| ![{title}](pictures/seen/{name}.svg) | {title}: {drawn} | {said} |\n"


@dataclass(frozen=True)
class Shown:
    """One picture judged: what was drawn, the bytes of what is shown, the answer as JSON has it."""

    drawn: str
    content: bytes
    answer: dict[str, Any]


def coat(seed: int, drawn: str, folder: Path, **how: Any) -> Shown:
    """Return a coat judged."""
    truth, content = scene(seed, **how)
    file = folder / "coat.jpg"
    file.write_bytes(content)
    asked = AskedCoat(truth.light, truth.bare, truth.expected)
    nm = f"{truth.mean:.0f} nm in the mean"
    edge = "" if truth.thin_edge is None else f", thin at the {truth.thin_edge} edge"
    answer = plain(judge_coat_file(file, asked))
    return Shown(drawn.format(nm=nm, edge=edge, light=truth.light), content, answer)


def wedge(seed: int, drawn: str, folder: Path) -> Shown:
    """Return a step wedge judged."""
    content, truth = wedge_scene(seed, turning=True)
    file = folder / "wedge.jpg"
    file.write_bytes(content)
    asked = AskedWedge(
        truth.steps, truth.increment, truth.first, truth.ends, truth.brightest, truth.grey
    )
    turns = "solarised" if truth.turns else "no turn within the steps"
    said = drawn.format(steps=truth.steps, speed=f"{truth.speed_point:.2f}", turns=turns)
    return Shown(said, content, plain(judge_wedge_file(file, asked)))


def plate(seed: int, drawn: str, folder: Path, **how: Any) -> Shown:
    """Return a finished plate judged."""
    content, truth = plate_scene(seed, **how)
    file = folder / "plate.jpg"
    file.write_bytes(content)
    asked = AskedPlate("quarter", truth.grey, None, truth.trap, truth.unlit, truth.smooth)
    known = {
        "fog": f"{100 * truth.fog:.0f}", "hairs": len(truth.hairs), "spots": len(truth.spots),
        "deg": "" if truth.buff_deg is None else f"{truth.buff_deg:.0f}",
    }  # fmt: skip
    return Shown(drawn.format(**known), content, plain(judge_plate_file(file, asked)))


def change(seed: int, drawn: str, folder: Path, kind: str) -> Shown:
    """Return two pictures of a plate compared; the one before is shown, with the areas."""
    before, after, truth = change_scene(seed, kind, turned=False)
    files = folder / "before.jpg", folder / "after.jpg"
    for file, content in zip(files, (before, after), strict=True):
        file.write_bytes(content)
    asked = AskedChange("quarter", truth.grey_before, truth.grey_after)
    said = drawn.format(areas=len(truth.areas))
    return Shown(said, before, plain(judge_change_files(*files, asked)))


MADE: tuple[tuple[str, Callable[..., Shown], str, dict[str, Any]], ...] = (
    ("A coat", coat, "{nm}, {light}", {}),
    ("A coat with a thin edge", coat, "{nm}{edge}, {light}", {"kind": "thin edge"}),
    ("A coat by hand", coat, "{nm}, {light}, fingers and a room in view", {"by_hand": True}),
    ("A coat without a bare strip", coat, "{nm}, {light}", {"strip": False}),
    ("A step wedge", wedge, "{steps} steps, speed point at {speed}, {turns}", {}),
    ("A clean plate", plate, "no fault", {}),
    ("Fog and blue lights", plate, "fog of {fog} % of white, blue highlights",
     {"faults": ("fog", "blue")}),
    ("Scratches", plate, "{hairs} fine lines", {"faults": ("scratches",)}),
    ("Buff lines and a tarnished rim", plate, "lines at {deg}°, a rim",
     {"faults": ("buff", "rim")}),
    ("Motion blur", plate, "moved by 14 px at 30°", {"blur": ("motion", 14, 30)}),
    ("Changed areas", change, "{areas} areas, before (shown) and after", {"kind": "areas"}),
    ("Gilded", change, "the whole plate, before (shown) and after", {"kind": "whole"}),
)  # fmt: skip


def shown(number: int, folder: Path) -> Shown:
    """Return one of the twelve, counted from 0, drawn and judged."""
    _, make, drawn, how = MADE[number]
    return make(FIRST + number, drawn, folder, **how)


def drawing(one: Shown, title: str) -> str:
    """Return a picture with its marks as SVG that holds all it shows."""
    with Image.open(io.BytesIO(one.content)) as image:
        image.thumbnail((SHOWN_PX, SHOWN_PX))
        out = io.BytesIO()
        image.convert("RGB").save(out, "JPEG", quality=QUALITY)
    href = "data:image/jpeg;base64," + b64encode(out.getvalue()).decode()
    return marked_picture(href, one.answer, marks_of(one.answer), title, ACROSS)


def row(number: int, one: Shown) -> str:
    """Return one row of the page."""
    title = MADE[number][0]
    return ROW.format(title=title, name=f"{number + 1:02d}", drawn=one.drawn,
                      said=one.answer["line"])  # fmt: skip


def main() -> None:
    """Draw, judge, write."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    rows = []
    with TemporaryDirectory() as held:
        for number, (title, *_) in enumerate(MADE):
            one = shown(number, Path(held))
            (FOLDER / f"{number + 1:02d}.svg").write_text(drawing(one, title), encoding="utf-8")
            rows.append(row(number, one))
    text = PAGE.read_text(encoding="utf-8")
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    made = HEAD + "".join(rows)
    PAGE.write_text(f"{head}{BEGIN}\n\n{made}\n{END}{tail}", encoding="utf-8")
    print("wrote docs/seeing.md and docs/pictures/seen")


if __name__ == "__main__":
    main()
