"""Pictures are read by a process of its own; it ends in a picture or in one sentence."""

import io
import json
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from benchmarks.seeing.scale import taken_by
from PIL import Image, ImageCms
from tests.book import hostile_pictures as hostile

from argentry.book.pictures import child, reading
from argentry.book.pictures.kind import media_type
from argentry.errors import BadInput


@pytest.mark.parametrize("name", hostile.HOSTILE)
def test_a_hostile_picture_is_read_or_ends_in_one_known_reason(name, tmp_path, monkeypatch):
    content, media, why = hostile.HOSTILE[name]
    file = tmp_path / "x"
    file.write_bytes(content)
    out = io.BytesIO()
    monkeypatch.setattr(sys, "argv", ["child", str(file), media, "160", "pixels"])
    monkeypatch.setattr(sys, "stdout", type("Out", (), {"buffer": out}))
    monkeypatch.setattr(child, "limit", lambda: None)  # this process is not bounded
    child.main()
    header, pixels = reading._parts(out.getvalue())
    assert header.get("why") == why
    assert len(pixels) == (0 if why else 3 * header["width"] * header["height"])
    if why:
        assert reading.UnfitPicture(why, header["figures"]).args[0].count("{") == 0


def test_a_jpeg_cut_short_that_ends_as_a_whole_one_does_is_told_by_its_grey_foot():
    rng = np.random.default_rng(5)
    picture = Image.fromarray(rng.integers(0, 256, (240, 320, 3)).astype(np.uint8))
    for form in ("RGB", "L"):
        whole = hostile.saved(picture.convert(form), "JPEG")
        for content, notes in ((whole, []), (whole[: len(whole) * 9 // 10] + b"\xff\xd9", ["cut"])):
            said: dict[str, object] = {"notes": [], "turn": 1}
            for most in (320, 100):
                said["notes"] = []
                child.pixels(Image.open(io.BytesIO(content)), most, said)
                assert said["notes"] == notes, (form, most)
    grey = Image.new("RGB", (320, 240), (127, 128, 128))  # a foot that is nearly that grey
    said = {"notes": [], "turn": 1}
    child.pixels(Image.open(io.BytesIO(hostile.saved(grey, "PNG"))), 320, said)
    assert said["notes"] == []


@pytest.mark.parametrize(
    ("made", "why"),
    [
        (lambda: hostile.saved(hostile.plain(900, 600), "JPEG"), None),
        (hostile.tiff_that_loops, None),
        (lambda: hostile.HOSTILE["bomb of 400 megapixels"][0], "large"),
        (lambda: hostile.saved(Image.new("1", (20000, 6000)), "TIFF", compression="group4"), None),
    ],
)
def test_the_process_of_its_own_answers_within_its_limits(made, why, tmp_path):
    content = made()
    file = tmp_path / "x"
    file.write_bytes(content)
    media = media_type(io.BytesIO(content))
    if why is None:
        read = reading.read_picture(file, media, 160)
        assert max(read.width, read.height) == 160
        return
    with pytest.raises(reading.UnfitPicture) as error:
        reading.read_picture(file, media, 160)
    assert error.value.why == why


def test_memory_and_time_of_the_child_are_bounded():
    code = (
        "import sys, json, resource; sys.path.insert(0, sys.argv[1]); import child as c; "
        "c.limit(); print(json.dumps([resource.getrlimit(getattr(resource, 'RLIMIT_' + n))[0] "
        "for n in ('AS', 'CPU', 'CORE')]))"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", code, str(reading.CHILD.parent)],
        capture_output=True,
        check=True,
    )
    assert json.loads(done.stdout) == [1_500_000_000, 20, 0]


@pytest.mark.parametrize("failing", [b"", b"\0\0\0\x04{]{]", b"\xff\xff\xff\xff" + bytes(20)])
def test_a_child_that_was_ended_is_one_sentence(failing, monkeypatch, tmp_path):
    done = subprocess.CompletedProcess([], -9, stdout=failing)
    monkeypatch.setattr(reading.subprocess, "run", lambda *_, **__: done)
    with pytest.raises(BadInput, match="too much memory or time"):
        reading.read_picture(tmp_path / "x", hostile.PNG, 160)


def test_a_child_that_hangs_is_one_sentence(monkeypatch, tmp_path):
    def late(command, **more):
        assert more["timeout"] == reading.SECONDS
        raise subprocess.TimeoutExpired(command, 1)

    monkeypatch.setattr(reading.subprocess, "run", late)
    with pytest.raises(BadInput, match="too much memory or time"):
        reading.read_picture(tmp_path / "x", hostile.PNG, 160)


def test_a_heic_is_read(monkeypatch):
    file = Path(__file__).parents[2] / "fixtures" / "heic" / "small.heic"
    with file.open("rb") as content:
        assert media_type(content) == "image/heic"
    with pytest.raises(child.Unfit, match="small"):
        child._answer(str(file), "image/heic", 128, "pixels")
    monkeypatch.setattr(child, "LEAST_SIDE", 100)  # the sample has 128
    header, pixels = child._answer(str(file), "image/heic", 128, "pixels")
    assert (header["width"], header["height"]) == (128, 128)
    shown = np.frombuffer(pixels, "uint8").reshape(128, 128, 3)
    assert shown.std(axis=(0, 1)).min() > 10  # a picture with colours, and no empty field
    assert len(child._answer(str(file), "image/heic", 64, "jpeg")[1]) > 500


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_turned_picture_is_read_upright(turn, tmp_path):
    upright = hostile.plain()
    back = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}  # what undoes each turn of EXIF 2.32
    stored = upright.transpose(Image.Transpose(back[turn])) if turn > 1 else upright
    file = tmp_path / "x"
    file.write_bytes(hostile.saved(stored, "PNG", exif=hostile.exif(turn)))
    header, pixels = child._answer(str(file), hostile.PNG, 300, "pixels")
    assert (header["width_px"], header["height_px"]) == (300, 200)
    shown = np.frombuffer(pixels, "uint8").reshape(header["height"], header["width"], 3)
    assert (shown == np.asarray(upright)).all()


def test_what_a_file_tells_of_its_maker_is_known_but_never_handed_on(tmp_path):
    file = tmp_path / "x"
    told = hostile.exif(place=True, owner="Invented Maker")
    file.write_bytes(hostile.saved(hostile.plain(), "JPEG", exif=told))
    read = reading.read_picture(file, hostile.JPEG, 320, "jpeg")
    assert read.carries == "place and names"
    assert read.taken_at.astimezone(UTC) == datetime(2026, 6, 1, 8, tzinfo=UTC)
    assert b"Invented" in file.read_bytes()
    assert b"Invented" not in read.content
    shown = Image.open(io.BytesIO(read.content))
    assert not shown.getexif()
    assert "icc_profile" not in shown.info


NAMED_BY = (0x013B, 0x8298, 0x9C9D, 0xA430)  # EXIF 2.32: artist, copyright, author, owner


@pytest.mark.parametrize("tag", NAMED_BY)
def test_each_word_on_its_maker_that_a_file_may_hold_is_seen(tag):
    def names(word):
        image = hostile.plain()
        told = image.getexif()
        (told.get_ifd(0x8769) if tag == 0xA430 else told)[tag] = word
        return child._facts(image)["names"]

    assert names("Invented Maker")
    assert not names(" \0")


def test_a_flash_fired_where_the_first_bit_says_so():
    """EXIF 2.32, tag 0x9209: bit 0."""
    for word in (0, 1, 24, 25, 94, 95, 255):
        image = hostile.plain()
        image.getexif().get_ifd(0x8769)[0x9209] = word
        assert child._facts(image)["flash"] == bool(word & 1), word


def test_a_side_has_from_200_to_20000_pixels_and_a_picture_120_million():
    for size in ((200, 200), (200, 20_000), (6000, 20_000)):
        child.sane(*size)
    for size, why in (((199, 200), "small"), ((300, 199), "small"), ((200, 20_001), "large"),
                      ((6001, 20_000), "large")):  # fmt: skip
        with pytest.raises(child.Unfit, match=why):
            child.sane(*size)


@pytest.mark.parametrize("size", [(640, 300), (300, 640), (320, 200), (641, 200), (240, 200)])
def test_a_picture_keeps_its_shape_and_becomes_no_larger(size):
    made = child.pixels(hostile.plain(*size), 320, {"turn": 1, "notes": []}).size
    share = min(1.0, 320 / max(size))
    assert made == tuple(round(side * share) for side in size)


def test_a_large_picture_is_made_smaller_by_whole_pixels_first():
    image = hostile.noise().resize((660, 300), Image.Resampling.NEAREST)
    made = child.pixels(image.copy(), 220, {"turn": 1, "notes": []})
    assert (np.asarray(made) == np.asarray(image.reduce(3))).all()


def test_a_colour_profile_is_honoured(tmp_path):
    wide = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
    file = tmp_path / "x"
    file.write_bytes(hostile.saved(hostile.plain(), icc_profile=wide.tobytes()))
    header, pixels = child._answer(str(file), hostile.PNG, 300, "pixels")
    shown = np.frombuffer(pixels, "uint8").astype(int)
    assert header["notes"] == []
    assert abs(shown - np.asarray(hostile.plain()).ravel()).max() <= 2


def test_how_it_was_read_is_noted(tmp_path):
    for name, note in (("two pages", "frames"), ("16 bits", "deep"), ("animated", "frames"),
                       ("profile that is noise", "profile")):  # fmt: skip
        content, media, _ = hostile.HOSTILE[name]
        (tmp_path / "x").write_bytes(content)
        assert note in child._answer(str(tmp_path / "x"), media, 300, "pixels")[0]["notes"], name
    assert set(reading.NOTES) == {"frames", "deep", "profile", "cut"}


def test_sixteen_bits_keep_their_order(tmp_path):
    (tmp_path / "x").write_bytes(hostile.deep_png())
    header, pixels = child._answer(str(tmp_path / "x"), hostile.PNG, 300, "pixels")
    shown = np.frombuffer(pixels, "uint8").reshape(header["height"], header["width"], 3)[..., 0]
    deep = np.asarray(Image.open(tmp_path / "x"))
    assert (shown == deep >> 8).all()


@pytest.mark.parametrize(
    ("content", "media"),
    [
        (hostile.saved(hostile.plain(), "JPEG"), "image/jpeg"),
        (hostile.saved(hostile.plain()), "image/png"),
        (hostile.saved(hostile.plain(), "TIFF"), "image/tiff"),
        (hostile.dng(), "image/x-adobe-dng"),
        (b"MM\0*\0\0\0\x08\0\x01\xc6\x12" + bytes(12), "image/x-adobe-dng"),
        (b"MM\0*\0\0\0\x08\0\x01\xc6\x13" + bytes(12), "image/tiff"),
        (b"II*\0", "image/tiff"),
        (b"II*\0\xff\xff\xff\xff", "image/tiff"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "image/heic"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic", "image/heic"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1avif", None),
        (b"\0\0\0\x18ftypisom\0\0\0\0mif1heic", None),
        (b"GIF89a" + bytes(40), None),
        (b"%PDF-1.7", None),
        (b"<svg onload=1>", None),
        (b"", None),
    ],
)
def test_a_kind_is_read_from_the_bytes(content, media):
    assert media_type(io.BytesIO(content)) == media


def test_a_still_picture_is_a_heic_by_one_of_its_first_four_further_brands():
    """ISO/IEC 14496-12: length, ftyp, the brand, its version, then brands that it also keeps to."""

    def told(brand, *more):
        return media_type(io.BytesIO(bytes(4) + b"ftyp" + brand + bytes(4) + b"".join(more)))

    for at in range(4):
        brands = [b"avif"] * 4
        brands[at] = b"heic"
        assert told(b"mif1", *brands) == "image/heic"
    assert told(b"heix") == "image/heic"
    assert told(b"mif1", b"avif") is None
    assert told(b"hevc", b"heic") is None  # a sequence


@pytest.mark.parametrize(
    ("make", "model", "lens", "camera"),
    [
        ("Nordlys", "N7", "", "Nordlys N7"),
        ("NORDLYS", "Nordlys N7", "back  wide", "Nordlys N7, back wide"),
        ("", "N7", "", "N7"),
        ("Nordlys", "", "back wide", ""),  # a make alone is no camera
        ("Nord\x1b[2Jlys", "N7\n", "", "Nord[2Jlys N7"),
        ("N" * 400, "M" * 400, "", "N" * 80 + " " + "M" * 80),
    ],
)
def test_a_camera_is_named_as_its_file_has_it_and_harmless(make, model, lens, camera, tmp_path):
    file = tmp_path / "x.jpg"
    file.write_bytes(taken_by(hostile.saved(hostile.plain(300, 240), "JPEG"), make, model, lens))
    assert reading.read_picture(file, "image/jpeg", 160).camera == camera


def test_a_file_without_metadata_names_no_camera(tmp_path):
    file = tmp_path / "x.png"
    file.write_bytes(hostile.saved(hostile.plain(300, 240), "PNG"))
    assert reading.read_picture(file, "image/png", 160).camera == ""


@pytest.mark.parametrize(
    ("space", "matrix", "mode", "honoured"),
    [
        ("RGB ", True, "RGB", True), ("RGB ", False, "RGB", False), ("RGB ", True, "L", False),
        ("GRAY", False, "L", True), ("GRAY", False, "RGB", False), ("CMYK", True, "RGB", False),
    ],
)  # fmt: skip
def test_only_profiles_by_a_matrix_or_a_grey_curve_are_honoured(
    monkeypatch, space, matrix, mode, honoured
):
    known = SimpleNamespace(xcolor_space=space, is_matrix_shaper=matrix)
    monkeypatch.setattr(ImageCms, "ImageCmsProfile", lambda _: SimpleNamespace(profile=known))
    monkeypatch.setattr(ImageCms, "profileToProfile", lambda *_, outputMode: "turned")
    image = Image.new(mode, (4, 4))
    image.info["icc_profile"] = b"some"
    said = {"notes": []}
    turned = child.in_srgb(image, said)
    assert (turned, said["notes"]) == (("turned", []) if honoured else (image, ["profile"]))
