"""What kind of picture a file is, read from its bytes and never from its name."""

from __future__ import annotations

import struct
from typing import BinaryIO

JPEG, PNG, TIFF = "image/jpeg", "image/png", "image/tiff"
HEIC, DNG = "image/heic", "image/x-adobe-dng"
MEDIA = (JPEG, PNG, TIFF, HEIC, DNG)
_BEGINNINGS = {
    b"\xff\xd8\xff": JPEG,
    b"\x89PNG\r\n\x1a\n": PNG,
    b"II*\x00": TIFF,
    b"MM\x00*": TIFF,
}
# Brands of ISO/IEC 23008-12 for one still picture coded with HEVC; sequences have others.
_STILL = (b"heic", b"heix", b"heim", b"heis", b"mif1")
_DNG_VERSION = 50706  # the tag that makes a TIFF a DNG
_MOST_TAGS = 4096


def media_type(file: BinaryIO) -> str | None:
    """Return the kind of a picture, None when it is none of `MEDIA`.

    Parameters
    ----------
    file : file object
        Open for reading bytes, at its beginning; only its head and first list of tags are read.
    """
    start = file.read(32)
    for begin, media in _BEGINNINGS.items():
        if start.startswith(begin):
            return DNG if media == TIFF and _has_tag(file, start) else media
    brands = start[8:12], *(start[at : at + 4] for at in range(16, 32, 4))
    if start[4:8] == b"ftyp" and start[8:12] in _STILL:
        # mif1 says only that it is a still picture: AVIF has it too
        return HEIC if b"heic" in brands or b"heix" in brands else None
    return None


def _has_tag(file: BinaryIO, start: bytes) -> bool:
    order = "<" if start[:2] == b"II" else ">"
    if len(start) < 8:
        return False
    file.seek(struct.unpack(order + "I", start[4:8])[0])
    head = file.read(2)
    if len(head) < 2:
        return False
    count = min(struct.unpack(order + "H", head)[0], _MOST_TAGS)
    rows = file.read(12 * count)
    tags = (rows[at : at + 2] for at in range(0, len(rows) - 11, 12))
    return any(struct.unpack(order + "H", tag)[0] == _DNG_VERSION for tag in tags)
