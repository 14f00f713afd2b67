"""A picture's pixels and facts, read by a process of its own with bounded memory and time."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from argentry.book.times import harmless_line
from argentry.errors import BadInput

CHILD = Path(__file__).with_name("child.py")
SECONDS = 25.0  # of the wall clock; the child ends itself after 20 s of work
LONGEST_HEADER = 1 << 16
WHY: Mapping[str, tuple[str, str]] = {
    "library": ("this machine cannot read pictures yet", "install it with: argentry[see]"),
    "heic": ("HEIC pictures cannot be read here yet", "install argentry[see], or send a JPEG"),
    "raw": ("a DNG holds raw data, which is kept but not read", "send a JPEG of it"),
    "small": ("it has {0} x {1} pixels", "both sides must have at least 200"),
    "large": ("it has {0} x {1} pixels", "at most 20000 a side and 120 million together"),
    "kind": ("its pixels are of a kind that is not read ({0})", "save it with 8 bits a colour"),
    "damaged": (
        "it is damaged, cut short or packed in a way that is not read",
        "send the whole file again, or save it as a JPEG",
    ),
    "heavy": ("reading it takes too much memory or time", "save it again, smaller"),
}
NOTES = {
    "frames": "It has several pages or frames; only the first was read.",
    "deep": "It has 16 bits a colour; it was read with 8.",
    "cut": "Its foot is one flat grey, as in a file that was cut short: send the whole file again.",
    "profile": "Its colour profile is not known here; sRGB was assumed.",
}


class UnfitPicture(BadInput):
    """A picture that cannot be read; `why` is a key of `WHY`."""

    def __init__(self, why: str, figures: list[Any]) -> None:
        self.why = why
        what, right = WHY[why]
        super().__init__("picture", what.format(*figures), right)


@dataclass(frozen=True)
class PictureRead:
    """What a picture's file says and shows.

    Attributes
    ----------
    width_px, height_px : int
        Of the file, turned upright. [px]
    width, height : int
        Of what was read. [px]
    content : bytes
        Its pixels, three bytes each, in rows from the top left; or a JPEG; or nothing.
    taken_at : datetime or None
        When it was taken, where the file says so with its zone.
    place, names : bool
        Whether the file says where it was taken, or whose it is.
    notes : tuple of str
        Sentences on how it was read.
    flash : bool
        Whether the file says that a flash fired.
    camera : str
        Make, model and lens of the camera as the file names them, cleaned; empty when it does not.
    """

    width_px: int
    height_px: int
    width: int
    height: int
    content: bytes
    taken_at: datetime | None
    place: bool
    names: bool
    notes: tuple[str, ...]
    flash: bool = False
    camera: str = ""

    @property
    def carries(self) -> str:
        """One of `argentry.records.plate.CARRIES`."""
        return " and ".join(
            word for word, there in (("place", self.place), ("names", self.names)) if there
        )


def read_picture(file: Path, media: str, most_px: int, form: str = "pixels") -> PictureRead:
    """Return a picture's pixels, at most so many on its longer side.

    Parameters
    ----------
    file : Path
        The picture.
    media : str
        Its kind by content.
    most_px : int
        Longest side wanted. [px]
    form : str
        ``"pixels"``, ``"jpeg"``, or ``"facts"`` to decode and bring nothing.

    Raises
    ------
    UnfitPicture
        With one sentence on why it cannot be used.
    """
    try:
        header, content = _parts(_told(str(file.absolute()), media, str(most_px), form))
    except (subprocess.TimeoutExpired, ValueError):
        raise UnfitPicture("heavy", []) from None
    if "why" in header:
        raise UnfitPicture(header["why"], header["figures"])
    size = header.get("width", 0), header.get("height", 0)
    if form == "pixels" and len(content) != 3 * size[0] * size[1]:
        raise UnfitPicture("damaged", [])
    return PictureRead(
        header["width_px"], header["height_px"], *size,
        content, _moment(header["taken"], header["offset"]), header["place"], header["names"],
        tuple(NOTES[one] for one in header["notes"]), header["flash"], _camera(*header["camera"]),
    )  # fmt: skip


def _told(*asked: str) -> bytes:
    """Return what a process of its own says of a picture, as far as it came."""
    done = subprocess.run(  # noqa: S603 - our own program; the path is one argument
        [sys.executable, "-I", str(CHILD), *asked], stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=SECONDS, check=False, env={},
    )  # fmt: skip
    return done.stdout


def _parts(out: bytes) -> tuple[dict[str, Any], bytes]:
    length = int.from_bytes(out[:4], "big")
    if len(out) < 4 or length > LONGEST_HEADER:
        raise ValueError
    return json.loads(out[4 : 4 + length]), out[4 + length :]


def _camera(make: str, model: str, lens: str) -> str:
    """Return a camera's name; a model that begins with its make does not say it twice."""
    make, model, lens = (harmless_line(one) for one in (make, model, lens))
    whole = model if model.casefold().startswith(make.casefold()) else f"{make} {model}"
    return ", ".join(one for one in (whole.strip(), lens) if one) if model else ""


def _moment(taken: str, offset: str) -> datetime | None:
    """Return an EXIF time with its zone; without a zone it is no moment."""
    try:
        return datetime.strptime(f"{taken} {offset}", "%Y:%m:%d %H:%M:%S %z")
    except ValueError:
        return None
