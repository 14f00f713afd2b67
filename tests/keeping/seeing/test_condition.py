"""A condition sheet: one plate's findings numbered, its changes, the maker's word, and no more."""

import io
import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from benchmarks.seeing.change_scene import change_scene
from click.testing import CliRunner
from jsonschema import validate
from PIL import Image
from pypdf import PdfReader

from argentry.book.engine import close_book
from argentry.book.judgements import judgement_of
from argentry.book.makings import rejudge
from argentry.book.open import open_book
from argentry.book.pictures.judged import confirm
from argentry.book.plates import add_making, add_plate
from argentry.cli.main import cli
from argentry.errors import BadInput
from argentry.keeping.plates.pictures import keep_content, shown_picture
from argentry.keeping.seeing.change import AskedChange, judge_change_files
from argentry.keeping.seeing.condition import _changed, _lettered, condition
from argentry.keeping.seeing.kept import VERSION, keep_answer
from argentry.keeping.seeing.plate import AskedPlate, judge_plate_file
from argentry.keeping.studio import load_studio, new_studio
from argentry.out.plates.condition_sheet import condition_pdf
from argentry.out.schemas import schema
from argentry.records.ids import new_id
from argentry.records.plain import plain
from argentry.records.plate import Judged, Making, Plate

OWNER, CAMERA = "Invented Owner", "Invented Camera"


def with_metadata(content):
    """Return a picture that says whose it is, where and when it was taken."""
    image, out = Image.open(io.BytesIO(content)), io.BytesIO()
    exif = image.getexif()
    exif[0x013B], exif[0x8298], exif[0x0110] = OWNER, OWNER, CAMERA
    exif.get_ifd(0x8769).update({0x9003: "2026:10:03 11:20:00", 0x9011: "+02:00"})
    exif.get_ifd(0x8825).update({1: "N", 2: (40.0, 25.0, 0.0), 3: "W", 4: (3.0, 41.0, 0.0)})
    image.save(out, "JPEG", quality=95, exif=exif)
    return out.getvalue()


@pytest.fixture(scope="module")
def studio(tmp_path_factory):
    """Give a studio with a plate of two pictures, looked into, compared and confirmed."""
    folder = tmp_path_factory.mktemp("sheet") / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    before, after, _ = change_scene(74, "areas", size=(800, 610))
    files = [folder.parent / "before of owner.jpg", folder.parent / "after.jpg"]
    for file, content in zip(files, (before, after), strict=True):
        file.write_bytes(with_metadata(content))
    book = open_book(folder)
    made = Plate(new_id(), "W-10", "quarter", date(2026, 5, 2))
    add_plate(book, made)
    making = Making(new_id(), made.id, None, "s", 1, date(2026, 6, 21))
    add_making(book, making)
    seen = judge_plate_file(files[1], AskedPlate("quarter", smooth=(200, 100, 380, 130)))
    keep_answer(folder, "W-10", files[1], seen, kind="plate")
    change = judge_change_files(*files, AskedChange("quarter", same_light=True))
    keep_answer(folder, "W-10", files[0], change, kind="change", second=files[1])
    yield folder, book, made, making, seen, change
    close_book(book)


def words(data):
    pages = PdfReader(io.BytesIO(data)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_findings_and_changes_are_numbered_with_figure_and_odds(studio):
    folder, book, _, _, seen, change = studio
    made = condition(book, load_studio(folder), "W-10")
    assert [(row.number, row.key, row.odds) for row in made.found] == [
        (str(number), one.key, one.odds) for number, one in enumerate(seen.defects, 1)
    ]
    assert {row.word for row in made.found} <= {""}
    areas = [one for one in made.marks if one.name.isalpha()]
    assert [one.name for one in areas] == list("abcdefgh"[: len(change.areas)])
    assert len(made.change.areas) == len(change.areas) >= 1
    # the sheet shows the picture after: the places are carried over to it, within its plate
    left, right = (edge(x for x, _ in made.corners_px) for edge in (min, max))
    assert all(left < one.px[0] < right for one in areas)
    assert made.size.startswith("quarter plate, ")
    assert (made.taken_at, made.taken_from) == (datetime(2026, 10, 3, 9, 20, tzinfo=UTC), "file")


def test_the_paper_says_it_all_and_nothing_of_owner_or_place(studio):
    folder, book, plate, making, seen, _ = studio
    now = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)
    struck = {one.key: "struck out by the maker" for one in seen.defects[1:]}
    confirm(book, plate.id, seen.sha256, "plate", now, struck=struck)
    known = replace(judgement_of(making), defects=(("fog", "coat"),))
    rejudge(book, making.id, known, "Tester", now)
    made = condition(book, load_studio(folder), "W-10", by="A. Keeper")
    jpeg = shown_picture(book, folder, made.picture, 1600)
    for paper, size in (("a4", (595, 842)), ("us-letter", (612, 792))):
        data = condition_pdf(made, jpeg, date(2026, 6, 3), paper)
        page = PdfReader(io.BytesIO(data)).pages[0]
        assert tuple(map(round, (page.mediabox.width, page.mediabox.height))) == size
        said = words(data)
        for part in (
            "Condition of plate W-10", made.size, "2026-10-03 11:20", "Silvered 2026-05-02",
            "noted by Tester on 2026-11-01", "Judged by eye: A. Keeper.",
            f"judging version {VERSION}", made.change.line, made.picture[:40], "lit alike.",
            "Dust and reflections",
        ):  # fmt: skip
            assert part in said, part
        for row in made.found:
            assert f"{row.odds:.2f} {row.word}" in said
        assert [row.word for row in made.found] == [
            "struck out" if row.key in struck else "confirmed" for row in made.found
        ]
        for secret in (OWNER, CAMERA, "before of owner", "GPS"):
            assert secret not in said
            assert secret.encode() not in data
    came_in = replace(made, defects=tuple(replace(row, by="imported") for row in made.defects))
    none = replace(came_in, found=(), cautions=(), line="cannot tell: no plate is found in it")
    said = words(condition_pdf(none, jpeg, date(2026, 6, 3)))
    assert "Cannot tell: no plate is found in it." in said
    for claim in ("Nothing found", "Odds say", "lit alike"):
        assert claim not in said
    assert ", imported on 2026-11-01" in said
    assert "noted by" not in said
    shots = PdfReader(io.BytesIO(data)).pages[0].images
    assert max(image.image.size[0] for image in shots) >= 800
    assert not Image.open(io.BytesIO(jpeg)).getexif()


def test_the_command_prints_it_and_its_json_is_the_documented_one(studio, tmp_path):
    folder, *_, seen, _ = studio
    target = tmp_path / "sheet.pdf"
    asked = ["label", "condition", "W-10", "--pdf", target, "--studio", folder, "--json"]
    done = CliRunner().invoke(cli, list(map(str, asked)))
    assert done.exit_code == 0
    assert target.read_bytes().startswith(b"%PDF")
    answer = json.loads(done.stdout)
    validate(answer, schema("label_condition"))
    assert answer["picture"] == seen.sha256


def test_a_plate_without_a_judged_picture_gets_what_the_book_knows_and_is_told_so(studio):
    folder, book, _, making, *_ = studio
    plate = Plate(new_id(), "W-11", "quarter", date(2026, 5, 2))
    add_plate(book, plate)
    add_making(book, replace(making, id=new_id(), plate=plate.id, defects=(("fog", "coat"),)))
    made = condition(book, load_studio(folder), "W-11", by="A. K.")
    assert (made.picture, made.judged_at, made.found, made.line) == (None, None, (), "")
    validate(json.loads(json.dumps(plain(made))), schema("label_condition"))
    said = words(condition_pdf(made, None, date(2026, 6, 3)))
    for part in (
        "Condition of plate W-11", "quarter plate, ", "Silvered 2026-05-02",
        "No picture of this plate was judged", "By the book alone. Judged by eye: A. K. Seen by",
        "(fog)",
    ):  # fmt: skip
        assert part in said, part
    for claim in ("Nothing found", "Read out of the picture", "has not said", "Odds say"):
        assert claim not in said
    # a picture that is kept is shown, and still not judged
    grey = Image.new("RGB", (300, 240), (90, 90, 90))
    grey.save(folder.parent / "grey.png")
    content = (folder.parent / "grey.png").read_bytes()
    now = datetime(2026, 11, 2, tzinfo=UTC)
    kept = keep_content(book, content, "W-11", now, kind="plate", named="grey.png").picture.sha256
    shown = condition(book, load_studio(folder), "W-11")
    assert (shown.picture, shown.judged_at) == (kept, None)
    jpeg = shown_picture(book, folder, kept, 1600)
    said = words(condition_pdf(shown, jpeg, date(2026, 6, 3)))
    assert "No picture of this plate was judged" in said
    assert kept[:40] in said
    with pytest.raises(BadInput, match="this picture of the plate was not looked into"):
        condition(book, load_studio(folder), "W-11", picture=kept[:12])


def test_places_of_a_change_are_carried_over_to_the_picture_after_alone():
    area = {"px": [100.0, 50.0], "diameter_px": 20.0, "words": "darker"}
    moved = [[2.0, 0.0, 7.0], [0.0, 2.0, -3.0], [0.0, 0.0, 1.0]]

    def marks(picture, turn):
        answer = {"areas": [area], "before_to_after": turn}
        now = datetime(2026, 11, 1, tzinfo=UTC)
        told = Judged("before", "p", "change", now, VERSION, answer, second_picture="after")
        return [(one.name, one.px, one.radius_px) for one in _changed(told, picture)]

    assert marks("before", moved) == [("a", (100.0, 50.0), 16.0)]
    assert marks("after", moved) == [("a", (207.0, 97.0), pytest.approx(32.0))]
    assert marks("before", None) == marks("before", moved)
    assert marks("after", None) == []
    assert list(_changed(None, "before")) == []


def test_no_changed_area_is_left_out_after_the_letter_z():
    lettered = list(_lettered({"areas": [{"words": str(n)} for n in range(60)]}))
    assert [lettered[n][0] for n in (0, 25, 26, 27, 59)] == ["a", "z", "aa", "ab", "bh"]
    assert [row["words"] for _, row in lettered] == [str(n) for n in range(60)]
