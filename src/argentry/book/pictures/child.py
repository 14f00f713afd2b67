"""Read one picture; run as a program of its own, so that a bomb or a crash ends nothing else.

It is called by its neighbour `reading` and imports nothing of argentry. It gets a path, the
kind that the bytes showed, the longest side wanted and the form (pixels, jpeg or facts), and writes
the length of a JSON header, the header, and the pixels as 8-bit sRGB from the top left or a JPEG.
"""

from __future__ import annotations

import io
import json
import sys
from typing import Any

MEMORY_BYTES = 1_500_000_000
CPU_S = 20
LEAST_SIDE, MOST_SIDE, MOST_PIXELS = 200, 20_000, 120_000_000
FORMATS = {
    "image/jpeg": "JPEG",
    "image/png": "PNG",
    "image/tiff": "TIFF",
    "image/x-adobe-dng": "TIFF",
    "image/heic": "HEIF",
}
# EXIF 2.32: orientation; artist, copyright, owner, XP author; GPS and Exif directories; times;
# make and model of the camera, and model of the lens: a phone has several
ORIENTATION, GPS, EXIF = 0x0112, 0x8825, 0x8769
NAMES = (0x013B, 0x8298, 0x9C9D)
OWNER, TAKEN, OFFSET, FLASH = 0xA430, 0x9003, 0x9011, 0x9209
BLOCK, GREY = 8, 128  # of a JPEG: rows of its smallest block; what a block without data shows
MAKE, MODEL, LENS = 0x010F, 0x0110, 0xA434
SIXTEEN = ("I;16", "I;16L", "I;16B", "I;16N")
KNOWN = ("1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr", *SIXTEEN)


class Unfit(Exception):  # noqa: N818 - reads as what it is
    """Why a picture cannot be used: a key of `reading.WHY`, and figures."""


def limit() -> None:
    """Bound memory and time of this process, where the system can."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def opened(path: str, media: str) -> Any:
    """Return the picture, not yet decoded."""
    try:
        from PIL import Image
    except ImportError:
        raise Unfit("library") from None
    Image.MAX_IMAGE_PIXELS = None  # our own limits, below, hold before anything is decoded
    if media == "image/heic":
        try:
            import pi_heif
        except ImportError:
            raise Unfit("heic") from None
        pi_heif.register_heif_opener(thumbnails=False)
    return Image.open(path, formats=[FORMATS[media]])


def sane(width: int, height: int) -> None:
    """Refuse a size before anything is decoded."""
    if min(width, height) < LEAST_SIDE:
        raise Unfit("small", width, height)
    if max(width, height) > MOST_SIDE or width * height > MOST_PIXELS:
        raise Unfit("large", width, height)


def _facts(image: Any) -> dict[str, Any]:
    """Return what the file says of itself: never a name or a place, only that it has them."""
    exif = image.getexif()
    own = exif.get_ifd(EXIF)
    names = any(str(one).strip("\x00 ") for tag in NAMES if (one := exif.get(tag)))
    names = names or bool(str(own.get(OWNER) or "").strip("\x00 "))
    return {
        "turn": exif.get(ORIENTATION, 1),
        "place": bool(exif.get_ifd(GPS)),
        "names": names,
        "flash": own.get(FLASH) in range(1, 256, 2),  # bit 0: it fired
        "taken": str(own.get(TAKEN) or "")[:40],
        "offset": str(own.get(OFFSET) or "")[:10],
        "camera": [str(one or "")[:80] for one in (exif.get(MAKE), exif.get(MODEL), own.get(LENS))],
        "notes": ["frames"] if getattr(image, "n_frames", 1) > 1 else [],
    }


def pixels(image: Any, most: int, said: dict[str, Any]) -> Any:
    """Return the first frame as 8-bit sRGB, upright, its longer side at most `most`."""
    from PIL import ImageOps

    if image.mode not in KNOWN:
        raise Unfit("kind", image.mode)
    deep = image.mode in SIXTEEN or "16" in str(getattr(image, "tag_v2", {}).get(258, ""))
    if deep:
        said["notes"].append("deep")
    image.seek(0)
    height = image.size[1]
    image.draft("RGB", (most, most))  # only a JPEG can be decoded smaller
    image.load()
    if image.format == "JPEG" and _ends_grey(image, height / image.size[1]):
        said["notes"].append("cut")
    if image.mode in SIXTEEN:
        image = image.point(lambda value: value / 256).convert("I").convert("L")
    image = in_srgb(image, said).convert("RGB")
    step = max(image.size) // most
    if step > 1:
        image = image.reduce(step)
    image.getexif()[ORIENTATION] = said["turn"]
    image = ImageOps.exif_transpose(image)
    if max(image.size) > most:
        share = most / max(image.size)
        image = image.resize(tuple(max(1, round(side * share)) for side in image.size))
    return image


def _ends_grey(image: Any, scale: float) -> bool:
    """Return True for a JPEG that ends in rows of blocks without any data.

    A decoder leaves what is missing before an end marker at the middle of its range, without a
    word: all its pixels are that grey (JPEG, ITU-T T.81, level shift of 128).
    """
    width, height = image.size
    foot = image.crop((0, height - max(1, round(BLOCK / scale)), width, height))
    ends = foot.getextrema()
    return all(one == (GREY, GREY) for one in (ends if image.mode == "RGB" else (ends,)))


def in_srgb(image: Any, said: dict[str, Any]) -> Any:
    """Return a picture with its colour profile honoured where it is a matrix or a grey curve."""
    raw = image.info.get("icc_profile")
    if not raw:
        return image
    from PIL import ImageCms

    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(raw))
        space = profile.profile.xcolor_space.strip()
        fits = {"RGB": ("RGB", "RGBA", "RGBX"), "GRAY": ("L", "LA")}.get(space, ())
        if image.mode in fits and (space == "GRAY" or profile.profile.is_matrix_shaper):
            plain = image.convert("RGB" if space == "RGB" else "L")
            srgb = ImageCms.createProfile("sRGB")
            turned: Any = ImageCms.profileToProfile(plain, profile, srgb, outputMode="RGB")
            return turned
    except (ImageCms.PyCMSError, OSError, ValueError):
        pass
    said["notes"].append("profile")
    return image


def _answer(path: str, media: str, most: int, form: str) -> tuple[dict[str, Any], bytes]:
    """Return header and bytes."""
    with opened(path, media) as image:
        sane(*image.size)
        said = _facts(image)
        width, height = image.size
        turned = said["turn"] in (5, 6, 7, 8)
        said["width_px"], said["height_px"] = (height, width) if turned else (width, height)
        if form == "facts" and media == "image/x-adobe-dng":
            return said, b""
        if media == "image/x-adobe-dng":
            raise Unfit("raw")
        made = pixels(image, most, said)
    said["width"], said["height"] = made.size
    if form == "jpeg":
        out = io.BytesIO()
        made.save(out, "JPEG", quality=85)  # nothing of the original's metadata goes along
        return said, out.getvalue()
    return said, b"" if form == "facts" else made.tobytes()


def main() -> None:
    """Read what the arguments name and write the answer."""
    limit()
    sys.stdout.buffer.write(told(*sys.argv[1:5]))


def told(path: str, media: str, most: str, form: str) -> bytes:
    """Return the answer, whatever the file is."""
    try:
        header, content = _answer(path, media, int(most), form)
    except Unfit as error:
        header, content = {"why": error.args[0], "figures": list(error.args[1:])}, b""
    except MemoryError:
        header, content = {"why": "heavy", "figures": []}, b""
    except Exception:  # noqa: BLE001 - whatever a hostile file does to a decoder
        header, content = {"why": "damaged", "figures": []}, b""
    text = json.dumps(header).encode()
    return len(text).to_bytes(4, "big") + text + content


if __name__ == "__main__":
    main()
