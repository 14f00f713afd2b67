"""The commands that learn from plates, run on the invented year: tables, JSON, and slips."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from argentry.cli.main import main
from argentry.out.schemas import schema

NEED = ["need", "2", "--from", "2026-06-01", "--by", "2026-12-20", "--a-day", "2"]
COMMANDS = [
    ("odds", ["odds", "P004"]),
    ("odds", ["odds", "P010", "--after", "coat", "--left", "300"]),
    ("odds", ["odds", "P010", "--set", "room_rh_pct=60", "--ok", "polish"]),
    ("why_plate", ["why", "P004"]),
    ("why_plate", ["why", "P002"]),
    ("why_studio", ["why", "--studio-wide"]),
    ("next", ["next"]),
    ("next", ["next", "--about", "exposure"]),
    ("next", ["next", "--commissioned", "--fixed", "coat_nm"]),
    ("next_compare", ["next", "--compare", "coat_nm=25,32"]),
    ("next_compare", ["next", "--compare", "box_c=15,21", "--pairs", "1", "--fixed", "coat_nm"]),
    ("need", NEED),
    ("learn", ["learn", "show"]),
]


@pytest.fixture(scope="module")
def studio(tmp_path_factory):
    folder = tmp_path_factory.mktemp("learning") / "demo"
    with pytest.raises(SystemExit):
        main(["demo", str(folder)])
    return folder


def run(arguments, capsys):
    capsys.readouterr()
    with pytest.raises(SystemExit) as left:
        main(arguments)
    shown = capsys.readouterr()
    return left.value.code, shown.out, shown.err


def undescribed(part, data, above=""):
    """Yield the keys that a command prints and the schema does not tell."""
    known = part.get("properties")
    if known is None or not isinstance(data, dict):
        return
    for key, value in data.items():
        if key not in known:
            yield above + key
            continue
        yield from undescribed(known[key], value, f"{above}{key}.")
        for item in value if isinstance(value, list) else []:
            yield from undescribed(known[key].get("items", {}), item, f"{above}{key}[].")


@pytest.mark.parametrize(("name", "arguments"), COMMANDS)
def test_what_a_command_prints_fits_its_schema(name, arguments, studio, capsys):
    code, out, err = run([*arguments, "--studio", str(studio), "--json"], capsys)
    assert code == 0, err
    data = json.loads(out)
    Draft202012Validator(schema(name)).validate(data)
    assert sorted(set(undescribed(schema(name), data))) == []


@pytest.mark.parametrize(("name", "arguments"), COMMANDS)
def test_every_figure_comes_with_range_and_count(name, arguments, studio, capsys):
    code, out, err = run([*arguments, "--studio", str(studio)], capsys)
    assert code == 0, err
    assert "Traceback" not in out + err
    assert "plate" in out, "how many plates stand behind it"
    if name in ("odds", "need", "learn", "why_studio") or "P004" in arguments:
        assert "–" in out or " to " in out
    if name == "need":  # beside the wider range of one plate, in learn show and day
        assert "share among many plates" in out


def test_the_answer_of_the_studio_is_the_invented_truth(studio, capsys):
    # truth.json: damp air, a cold box and salty water are main causes of the invented year
    code, out, _ = run(["why", "--studio-wide", "--studio", str(studio), "--json"], capsys)
    named = {row["cause"] for row in json.loads(out)["causes"] if row["named"]}
    assert code == 0
    assert {"salty_water", "damp_air", "coat_thin"} <= named
    told = json.loads((studio / "truth.json").read_text())
    main_ones = {row["cause"] for row in told["causes"] if row["main"]}
    assert {"bad_water", "damp", "cold_box"} <= main_ones


def test_a_table_beside_the_studio_needs_no_book_nor_studio(studio, capsys):
    table = ["--plates", str(studio / "plates.csv")]
    code, out, _ = run(["odds", "P004", *table, "--json"], capsys)
    alone = json.loads(out)
    assert code == 0
    assert alone["source"] == "plates.csv"
    assert (
        run(["book", "import", str(studio / "plates.csv"), "--studio", str(studio)], capsys)[0] == 0
    )
    _, out, _ = run(["odds", "P004", *table, "--studio", str(studio), "--json"], capsys)
    of_studio = json.loads(out)
    _, out, _ = run(["odds", "P004", "--studio", str(studio), "--json"], capsys)
    of_book = json.loads(out)
    assert of_book["source"] == "the book"
    assert of_book["probability"] == pytest.approx(of_studio["probability"], abs=1e-9)
    # without a place there is no light of the hour: exposures are known by their meter alone
    assert 0.0 < abs(of_book["probability"] - alone["probability"]) < 0.1
    code, out, _ = run(["learn", "show", *table, "--json"], capsys)
    assert code == 0
    assert json.loads(out)["numbers"] == []
    assert "need a studio's place" in json.loads(out)["notes"][-1]


def test_the_day_plan_takes_what_was_learned_unless_told_not_to(studio, capsys):
    plan = ["day", "2026-06-21", "--plates", "1", "--studio", str(studio), "--json"]
    code, out, _ = run(plan, capsys)
    taught = json.loads(out)
    assert code == 0
    found = {row["what"]: row for row in taught["learned"]}
    assert found["plate_speed"]["plates"] > 80
    assert found["box_factor"]["day"] == "2025-12-27"
    _, out, _ = run([*plan, "--as-written"], capsys)
    written = json.loads(out)
    assert written["learned"] == []
    assert taught["coat"] != written["coat"], "the box factor changes the seconds over iodine"
    assert taught["good_share_plates"] == 116
    code, out, _ = run([*plan[:-1], "--full"], capsys)
    told = " ".join(out.split())
    assert "Learned from your plates: plate speed" in told
    assert "115 plates, last 2025-12-27" in told


def test_a_book_that_cannot_be_read_does_not_keep_from_planning(studio, tmp_path, capsys):
    folder = tmp_path / "broken"
    folder.mkdir()
    (folder / "studio.toml").write_text((studio / "studio.toml").read_text())
    (folder / "book.sqlite").write_bytes(b"this is no book" * 400)
    code, out, err = run(
        ["day", "2026-06-21", "--plates", "1", "--studio", str(folder), "--json"], capsys
    )
    assert code == 0
    assert json.loads(out)["learned"] == []
    assert "Nothing learned is used" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["odds", "P4"], "did you mean P"),
        (["odds", "P004", "--set", "damp"], "write it as"),
        (["odds", "P004", "--set", "room_rh_pct=nan"], "not a number"),
        (["odds", "P004", "--set", "moon=3"], "not a condition known"),
        (["odds", "P004", "--after", "lunch"], "not a stage"),
        (["odds", "P004", "--left", "5000"], "--left"),
        (["odds", "P004", "--ok", "coat", "--fault", "coat"], "say one of the two"),
        (["odds", "P004", "--fault", "cot"], "--fault: there is no stage cot; did you mean coat"),
        (["why"], "no plate is named"),
        (["why", "P004", "--studio-wide"], "give a plate, or --studio-wide"),
        (["why", "P4"], "did you mean P"),
        (["next", "--about", "luck"], "say exposure or conditions"),
        (["next", "--fixed", "moon"], "not a setting you can change"),
        (["next", "--compare", "coat_nm"], "is not a column with two numbers; write it as"),
        (["next", "--compare", "coat_nm=25"], "is not a column with two numbers"),
        (["next", "--compare", "coat_nm=25,5,30"], "is not a column with two numbers"),
        (["next", "--compare", "=25,30"], "'' is not a setting you can change"),
        (["next", "--compare", "coat=25,30"], "'coat' is not a setting you can change; "),
        (["next", "--compare", "boxc=18,22"], "did you mean box_c"),
        (["next", "--compare", "coat_nm=25,25"], "25 and 25 are the same"),
        (["next", "--compare", "coat_nm=25,nan"], "nan nm is beyond what may be tried"),
        (["next", "--compare", "box_c=20,35"], "boxes are not heated beyond a warm room"),
        (["next", "--compare", "plate_c=40,25"], "drives iodine vapour into the room"),
        (
            ["next", "--compare", "coat_to_exposure_minutes=10,400"],
            "Keeping time of the step expose; give two settings from 2 to 180 min",
        ),
        (["next", "--compare", "coat_nm=25,30", "--pairs", "0"], "--pairs: 0 pairs is out"),
        (["next", "--compare", "coat_nm=25,30", "--pairs", "101"], "--pairs: 101 pairs is out"),
        (["next", "--compare", "coat_nm=25,30", "--commissioned"], "a plate that is promised"),
        (["next", "--compare", "coat_nm=25,30", "--fixed", "coat_nm"], "says --fixed"),
        (["next", "--compare", "coat_nm=25,30", "--fixed", "moon"], "not a setting you can change"),
        (["next", "--compare", "coat_nm=25,30", "--about", "exposure"], "--about"),
        (["next", "--pairs", "3"], "nothing is compared"),
        (["need", "3", "--by", "someday"], "is not a date"),
        (["need", "0", "--by", "2026-12-20"], "good plates wanted"),
        (["need", "3", "--by", "2020-01-01"], "--by: 2020-01-01 is before"),
        (["need", "3", "--by", "2026-12-20", "--weekdays", "sun,moon"], "is not a day of the week"),
        (["need", "3", "--by", "2026-12-20", "--a-day", "40"], "--a-day"),
        (["need", "3", "--by", "2026-12-20", "--certainty", "1"], "--certainty"),
        (["learn", "show", "--plates", "nothing.csv"], "nothing.csv"),
    ],
)
def test_a_slip_ends_in_one_sentence(arguments, words, studio, capsys):
    code, out, err = run([*arguments, "--studio", str(studio)], capsys)
    assert code == 2
    assert out == ""
    assert words in err
    assert len(err.strip().splitlines()) == 1


def test_what_one_studio_shares_another_may_adopt_and_forget(studio, tmp_path, capsys):
    file, young = tmp_path / "ours.txt", tmp_path / "young"
    young.mkdir()
    (young / "studio.toml").write_bytes((studio / "studio.toml").read_bytes())
    here = ["--studio", str(young)]
    code, out, err = run(["learn", "share", str(file), "--studio", str(studio), "--yes"], capsys)
    assert code == 0, err
    assert file.read_text() in out, "every line is shown"
    assert {one.split(" = ")[0] for one in file.read_text().splitlines() if " = " in one} <= {
        *("format", "version", "plates", "sensitised", "water", "red_light"),
        *("kind", "of", "stage", "value", "low", "high"),
        *("believed", "believed_low", "believed_high"),
    }
    again = ["learn", "share", str(tmp_path / "again.txt"), "--studio", str(studio), "--yes"]
    code, out, err = run([*again, "--json"], capsys)
    assert code == 0, err
    Draft202012Validator(schema("learn_share")).validate(json.loads(out))

    def shown():
        return json.loads(run(["learn", "show", *here, "--json"], capsys)[1])

    def dose():
        told = run(["develop", "--start", "2026-06-21T12:00", *here, "--json"], capsys)[1]
        [used] = [one for one in json.loads(told)["numbers_in_use"] if "dose" in one["what"]]
        return used["value"], used["source"]

    before, by_trade = shown(), dose()
    assert by_trade[1] == "trade"
    assert before["adopted"] == {"files": [], "left_out": [], "plates": 0, "figures": []}
    bad = tmp_path / "bad.toml"
    bad.write_text(file.read_text().replace("low = ", "low = 1", 1))
    for wrong in ([str(bad)], [str(file), str(bad)], [], [str(file)]):  # the last: nobody says yes
        code, _, err = run(["learn", "adopt", *wrong, *here], capsys)
        assert code == 2
        assert len(err.strip().splitlines()) == 1
    assert shown() == before
    # nobody's plates count twice: one file under two names, or the studio's own come back
    code, _, err = run(["learn", "adopt", str(file), again[2], *here, "--yes"], capsys)
    assert (code, "again.txt: it says the same as ours.txt" in err) == (2, True)
    code, _, err = run(["learn", "adopt", str(file), "--studio", str(studio), "--yes"], capsys)
    assert (code, "this studio wrote it" in err) == (2, True)
    code, out, err = run(["learn", "adopt", str(file), *here, "--yes", "--json"], capsys)
    assert code == 0, err
    adopted = json.loads(out)
    Draft202012Validator(schema("learn_adopt")).validate(adopted)
    after = shown()
    assert after["adopted"] == adopted
    # times go by them too, before the first plate of one's own
    assert dose()[1] == "other studios"
    assert dose()[0] > 1.05 * by_trade[0]
    # a stage is told of an average plate at both doors
    of_stage = {one["of"]: one for one in adopted["figures"] if one["kind"] == "stage"}
    for now, then in zip(after["stages"], before["stages"], strict=True):
        figure = of_stage[now["stage"]]
        for end, part in (("value", ""), ("low", "_low"), ("high", "_high")):
            assert figure[end] == pytest.approx(now[f"believed{part}"])
            assert figure[f"believed{part}"] == pytest.approx(then[f"believed{part}"])
    assert after["adopted"]["files"] == ["001-ours.txt.toml"]
    assert after["odds"]["probability"] != before["odds"]["probability"]
    assert after["stages"][0]["believed"] != before["stages"][0]["believed"]
    _, out, _ = run(["learn", "show", *here], capsys)
    assert "of one other studio stand" in " ".join(out.split())
    # no range is broken over two lines
    assert all(line.count("(") == line.count(")") for line in out.splitlines() if "–" in line)
    code, out, _ = run(["learn", "adopt", "--none", *here], capsys)
    assert code == 0
    assert shown() == before
    code, out, _ = run(["learn", "share", str(file), *here, "--yes"], capsys)
    assert code == 2, "there is no plate to learn from"
