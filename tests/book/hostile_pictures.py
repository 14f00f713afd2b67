"""Invented pictures that mean no good, and a few that only look so."""

import io
import struct
import zlib

import numpy as np
from PIL import Image

JPEG, PNG, TIFF = "image/jpeg", "image/png", "image/tiff"


def plain(width=300, height=200, mode="RGB"):
    """Bright red at the top left, dark elsewhere: a turned picture shows."""
    image = Image.new("RGB", (width, height), (20, 30, 40))
    image.paste((240, 10, 10), (0, 0, width // 3, height // 3))
    return image.convert(mode)


def saved(image, form="PNG", **more):
    out = io.BytesIO()
    image.save(out, form, **more)
    return out.getvalue()


def exif(orientation=1, *, place=False, owner=""):
    out = Image.Exif()
    out[0x0112] = orientation
    if place:
        out[0x8825] = {1: "N", 2: (40.0, 0.0, 0.0)}
    out[0x8769] = {0x9003: "2026:06:01 10:00:00", 0x9011: "+02:00"}
    if owner:
        out[0x8769][0xA430] = owner
    return out


def chunk(name, data):
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png_of(width, height, data=b"", *more):
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        [chunk(b"IHDR", head), *more, chunk(b"IDAT", zlib.compress(data)), chunk(b"IEND", b"")]
    )


def tiff_that_loops():
    """Two directories, each the next of the other."""
    rows = [(256, 3, 1, 300), (257, 3, 1, 200), (258, 3, 1, 8), (259, 3, 1, 1), (262, 3, 1, 1),
            (273, 4, 1, 8), (277, 3, 1, 1), (278, 3, 1, 200), (279, 4, 1, 60000)]  # fmt: skip
    pixels = bytes(60000)
    first = 8 + len(pixels)
    size = 2 + 12 * len(rows) + 4
    body = struct.pack("<H", len(rows)) + b"".join(struct.pack("<HHII", *row) for row in rows)
    both = body + struct.pack("<I", first + size) + body + struct.pack("<I", first)
    return b"II*\0" + struct.pack("<I", first) + pixels + both


def tiff_of_itself():
    return b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 0) + struct.pack("<I", 8)


def deep_png():
    ramp = np.linspace(0, 65535, 300 * 200).reshape(200, 300).astype("uint16")
    return saved(Image.fromarray(ramp))


def animated():
    return saved(plain(), "PNG", save_all=True, append_images=[plain().rotate(180)])


def dng():
    """A small TIFF whose first list of tags has DNGVersion."""
    from PIL.TiffImagePlugin import ImageFileDirectory_v2

    tags = ImageFileDirectory_v2()
    tags[50706] = bytes([1, 4, 0, 0])
    tags.tagtype[50706] = 1
    return saved(plain(), "TIFF", tiffinfo=tags)


def noise(low=0, high=256):
    values = np.random.default_rng(5).integers(low, high, (200, 300, 3))
    return Image.fromarray(values.astype("uint8"))


def scenery():
    """A sky, hills and a sun."""
    y, x = np.mgrid[0:200, 0:300]
    hills = y > 120 + 15 * np.sin(x / 25)
    sun = np.hypot(x - 220, y - 50) < 20
    sky = np.stack([90 + y // 2, 130 + y // 3, 230 - y // 3], axis=-1)
    sky[hills], sky[sun] = (40, 80, 30), (255, 240, 180)
    return Image.fromarray(sky.astype("uint8"))


def framed(*boxes):
    """White boxes on a black ground."""
    image = Image.new("RGB", (300, 200))
    for box in boxes:
        image.paste((250, 250, 250), box)
    return image


def four_cards():
    return saved(framed(*((x, y, x + 90, y + 60) for x in (30, 180) for y in (20, 120))))


def two_pages():
    return saved(plain(), "TIFF", save_all=True, append_images=[plain()])


def chessboard():
    y, x = np.mgrid[0:200, 0:300]
    return Image.fromarray((255 * ((y // 25 + x // 25) % 2)).astype("uint8")).convert("RGB")


def rude():
    """Names that are markup and orders to a terminal."""
    out = exif(owner="<script>alert(1)</script>")
    out[0x013B], out[0x8298] = "\x1b[2J\x1b]0;x\x07", "{0}{width}%s../../etc"
    return out


def commented():
    """Forty comments of the longest kind."""
    whole = saved(plain(), "JPEG")
    return whole[:2] + 40 * (b"\xff\xfe\xff\xff" + bytes(65533)) + whole[2:]


def turned_nine_times():
    out = Image.Exif()
    out[0x0112] = 9
    return saved(plain(), "JPEG", exif=out)


class Made(dict):
    """What stands under a name is made when it is asked for."""

    def __getitem__(self, name):
        made, *more = super().__getitem__(name)
        return made(), *more


def bomb(name):
    """A part of a PNG that is nine megabytes when it is unpacked."""
    return chunk(name, b"a\0\0" + zlib.compress(bytes(9 << 20)))


WHOLE_PNG = bytes(200 * 901)
NO_HEIC = b"\0\0\0\x18ftypheic\0\0\0\0heicmif1" + bytes(90)

# name: (what makes the content, kind, key of picture_reading.WHY or None when it is read)
HOSTILE = Made({
    "cut JPEG": (lambda: saved(plain(), "JPEG")[:900], JPEG, "damaged"),
    "cut PNG": (lambda: saved(plain())[:300], PNG, "damaged"),
    "cut TIFF": (lambda: saved(plain(), "TIFF")[:9000], TIFF, "damaged"),
    "only a head": (lambda: b"\xff\xd8\xff", JPEG, "damaged"),
    "noise after the head": (lambda: b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, PNG, "damaged"),
    "JPEG called PNG": (lambda: saved(plain(), "JPEG"), PNG, "damaged"),
    "bomb of 400 megapixels": (lambda: png_of(20000, 20000, bytes(1000)), PNG, "large"),
    "side of 65500": (lambda: png_of(65500, 300, bytes(1000)), PNG, "large"),
    "size that lies": (lambda: png_of(4000, 4000, bytes(1000)), PNG, "damaged"),
    "zero size": (lambda: png_of(0, 0, b""), PNG, "damaged"),
    "one pixel": (lambda: saved(plain(1, 1)), PNG, "small"),
    "a strip": (lambda: saved(plain(5000, 199)), PNG, "small"),
    "bomb of text": (
        lambda: png_of(300, 200, bytes(200 * 901), bomb(b"zTXt")),
        PNG, "damaged",
    ),
    "profile that is noise": (lambda: saved(plain(), icc_profile=b"no profile" * 40), PNG, None),
    "TIFF of itself": (tiff_of_itself, TIFF, "damaged"),
    "TIFF of floats": (lambda: saved(plain().convert("F"), "TIFF"), TIFF, "kind"),
    "16 bits": (deep_png, PNG, None),
    "CMYK": (lambda: saved(plain(mode="CMYK"), "JPEG"), JPEG, None),
    "grey with alpha": (lambda: saved(plain(mode="LA")), PNG, None),
    "palette": (lambda: saved(plain(mode="P")), PNG, None),
    "black": (lambda: saved(Image.new("RGB", (300, 200))), PNG, None),
    "one bit": (lambda: saved(plain(mode="1")), PNG, None),
    "animated": (animated, PNG, None),
    "two pages": (two_pages, TIFF, None),
    "raw": (dng, "image/x-adobe-dng", "raw"),
    "HEIC that is none": (lambda: NO_HEIC, "image/heic", "damaged"),
    "bomb of profile": (lambda: png_of(300, 200, WHOLE_PNG, bomb(b"iCCP")), PNG, "damaged"),
    "white": (lambda: saved(Image.new("RGB", (300, 200), "white"), "JPEG"), JPEG, None),
    "noise": (lambda: saved(noise()), PNG, None),
    "dark noise": (lambda: saved(noise(0, 6)), PNG, None),
    "scenery": (lambda: saved(scenery(), "JPEG"), JPEG, None),
    "a page on a table": (lambda: saved(framed((40, 30, 260, 170))), PNG, None),
    "a line": (lambda: saved(framed((0, 95, 300, 99))), PNG, None),
    "four cards": (four_cards, PNG, None),
    "chessboard": (lambda: saved(chessboard()), PNG, None),
    "rude names": (lambda: saved(plain(), "JPEG", exif=rude()), JPEG, None),
    "forty comments": (commented, JPEG, None),
    "turned in no known way": (turned_nine_times, JPEG, None),
    "a side of 20000": (lambda: saved(Image.new("L", (20000, 200))), PNG, None),
    "cut progressive JPEG": (
        lambda: saved(noise(), "JPEG", progressive=True)[:20000], JPEG, "damaged",
    ),
})  # fmt: skip
