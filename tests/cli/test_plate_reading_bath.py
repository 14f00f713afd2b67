"""Plates, readings and baths from the command line."""

import io
import json
from datetime import UTC, datetime, timedelta

import pytest

from argentry.keeping.stock import baths
from argentry.trade.defects import defects

pytestmark = pytest.mark.usefixtures("studio")


def as_json(run, *arguments):
    code, out, err = run(*arguments, "--json")
    assert (code, err) == (0, ""), err
    return json.loads(out)


def test_a_plate_from_new_to_graded(run):
    code, out, err = run("plate", "list")
    assert (code, err) == (0, "")
    assert "No plates." in out
    code, out, err = run(
        *("plate", "new", "A1", "A2", "--size", "Half plate", "--silver-um", "12"),
        *("--from", "a shop", "--made", "2026-05-01"),
    )
    assert (code, err) == (0, "")
    assert out.splitlines() == [f"Plate A{n}: half, 12 µm silver by a shop" for n in (1, 2)]
    _, out, _ = run("plate", "new", "A3", "A4", "--silver-um", "1.4")
    assert "Thin: 1.4 µm of silver bears a picture and no repolish" in out
    assert "polished back, A3, A4 may have less than 2 µm" in " ".join(out.split())
    code, out, err = run(
        *("plate", "grade", "A1", "good", "--verdict", "right", "--stage", "coat=ok"),
        *("--by", "Ana", "--day", "2026-06-21"),
    )
    assert (code, err) == (0, "")
    assert "2026-06-21 (session 2026-06-21, plate 1): good, exposure right" in out
    assert "Noted of plate A1, first making, of 21 June 2026, without a run." in out
    code, out, err = run("plate", "defect", "A1", "fog", "--from", "develop")
    assert "grey veil overall, from develop" in out
    assert "next plate: Leave camera" in out
    run("plate", "grade", "A1", "fine")
    shown = as_json(run, "plate", "show", "A1")
    assert shown["silver_um"] == 12
    assert [one["grade"] for one in shown["outcomes"]] == ["fine"]  # one making, the last counts
    assert shown["outcomes"][0]["stages"] == {"coat": "ok"}
    assert shown["outcomes"][0]["defects"][0]["from"] == "develop"
    run("plate", "defect", "A1", "fog", "--withdraw")
    run("plate", "grade", "A1", "none", "--verdict", "none", "--stage", "coat=none")
    shown = as_json(run, "plate", "show", "A1")["outcomes"][0]
    assert (shown["grade"], shown["verdict"], shown["stages"], shown["defects"]) == (
        None,
        None,
        {},
        [],
    )


def test_a_plate_is_renamed_and_keeps_its_history(run):
    run("plate", "new", "A1")
    code, out, err = run("plate", "rename", "A1", "B1", "--by", "Ana")
    assert (code, err) == (0, "")
    assert out.splitlines()[0] == "Plate A1 is now called B1."
    assert "renamed by Ana: A1 → B1" in out
    for number, day in enumerate(("2026-06-21", "2026-06-22"), 1):
        run("plate", "grade", "B1", "lost" if number == 1 else "good", "--day", day)
    code, out, err = run("plate", "grade", "B1", "study", "--making", "1")
    assert "Noted of plate B1, first making, of 21 June 2026, without a run." in out
    assert "Making 1: 2026-06-21" in out
    code, out, err = run("plate", "list")
    assert "2 ×" in out


def test_what_was_never_on_the_bench_is_neither_given_up_nor_withdrawn(run):
    run("plate", "new", "A1")
    code, _, err = run("plate", "give-up", "A1", "--stage", "coat", "--outward", "no_time")
    assert code == 2
    assert "not on the bench" in err
    code, _, err = run("plate", "withdraw", "A1")
    assert code == 2
    assert "is in no run" in err
    code, _, err = run("book", "withdraw-run", "moon")
    assert code == 2
    assert "no run is called" in err


def test_plates_of_one_day_stand_one_after_the_other(run):
    run("plate", "new", "A1", "A2")
    for label in ("A2", "A1"):
        run("plate", "grade", label, "study", "--day", "2026-06-21")
    orders = {
        label: as_json(run, "plate", "show", label)["outcomes"][0]["order"]
        for label in ("A1", "A2")
    }
    assert orders == {"A2": 1, "A1": 2}


def test_work_on_a_plate_is_kept_in_order_of_time(run):
    run("plate", "new", "A1")
    by = ("--by", "Ana", "--remark", "tripoli, 20 min")
    shown = as_json(run, "plate", "work", "A1", "Polished back", "--at", "2026-06-21T10:00", *by)
    assert shown["times_repolished"] == 1
    assert [(one["kind"], one["who"]) for one in shown["work"]] == [("polished_back", "Ana")]
    run("plate", "work", "A1", "plated", "--at", "2026-05-01")
    run("plate", "work", "A1", "polished-back", "--at", "2026-06-22T10:00+00:00")
    shown = as_json(run, "plate", "show", "A1")
    assert [one["kind"] for one in shown["work"]] == ["plated", "polished_back", "polished_back"]
    # told in the studio's own zone, as it was given
    assert shown["work"][1]["at"].startswith("2026-06-21T10:00")
    code, out, err = run("plate", "show", "A1")
    assert (code, err) == (0, "")
    assert "Polished back: 2 ×" in out
    assert "2026-05-01 00:00 plated" in out
    assert "2026-06-21 10:00 polished back by Ana: tripoli, 20 min" in out


def test_no_head_of_the_list_is_broken(run):
    run("plate", "new", "2026-11-29/12")
    run("plate", "grade", "2026-11-29/12", "good", "--verdict", "right")
    _, out, _ = run("plate", "list")
    head = next(line for line in out.splitlines() if "Plate" in line)
    assert head.split() == ["Plate", "Size", "Made", "on", "Grade", "Exposure"]


def test_list_by_grade(run):
    run("plate", "new", "A1", "A2", "A3")
    run("plate", "grade", "A2", "good")
    rows = as_json(run, "plate", "list", "--grade", "good")["plates"]
    assert [row["label"] for row in rows] == ["A2"]
    rows = as_json(run, "plate", "list", "--grade", "none")["plates"]
    assert [row["label"] for row in rows] == ["A1", "A3"]
    code, out, _ = run("plate", "list")
    assert code == 0
    assert "A2" in out
    assert "good" in out


def test_the_catalogue_of_defects(run):
    code, out, err = run("plate", "defect", "--list")
    assert (code, err) == (0, "")
    assert "comet_tails" in out
    assert len(as_json(run, "plate", "defect", "--list")["defects"]) == len(defects())


def test_a_reading_is_kept_and_judged(run):
    code, out, err = run("reading", "add", "room_c", "68", "°F")
    assert (code, out, err) == (0, "Air at the bench: 20 °C\n", "")
    code, out, err = run("reading", "add", "outside_c", "-3.5", "--by", "yard")
    assert (code, out, err) == (0, "Air outside: -3.5 °C\n", "")
    code, out, err = run("reading", "add", "room_c", "99")
    assert code == 0
    assert "Kept, but not used" in out
    run("plate", "new", "A1")
    hour_ago = (datetime.now(UTC) - timedelta(hours=1)).isoformat(timespec="seconds")
    late = ("--plate", "A1", "--at", hour_ago)
    kept = as_json(run, "reading", "add", "plate_c", "27", *late)
    assert kept["value"] == 27
    assert abs(datetime.fromisoformat(kept["at"]) - datetime.fromisoformat(hour_ago)).seconds < 60
    code, out, err = run("reading", "add", "--list")
    assert code == 0
    assert "Iodine box" in out


def test_a_bath_from_mixed_to_discarded(run):
    assert "No baths." in run("bath", "list")[1]
    code, out, err = run("bath", "new", "Fix 1", "fix", "--volume-ml", "500")
    assert (code, err) == (0, "")
    assert "Bath Fix 1: Fixing bath, plain, 500 mL" in out
    assert "Caution:" in out
    run("plate", "new", "A1", "--size", "quarter")
    code, out, err = run("bath", "use", "Fix 1", "A1", "--count", "1", "--size", "half")
    assert (code, err) == (0, "")
    assert "2 plates" in out
    assert "Good. " in out  # how long it lasts, told with what it bore
    row = as_json(run, "bath", "list")["baths"][0]
    assert row["plates_through"] == 2
    # quarter 3.25 x 4.25 in, half 4.25 x 5.5 in, at 2.54 cm to the inch
    assert row["area_cm2_through"] == pytest.approx((3.25 * 4.25 + 4.25 * 5.5) * 2.54**2)
    assert row["area_cm2_per_litre"] == pytest.approx(2 * row["area_cm2_through"])
    code, out, err = run("bath", "list")
    assert "Fixing bath, plain" in out
    assert " 0.0 days" in out
    assert "Fix 1: Good." in out
    assert "plates more" in out
    assert "Fix 1: Good." in run("bath", "clearing", "Fix 1", "10")[1]  # the first is the fresh one
    out = run("bath", "clearing", "Fix 1", "25")[1]
    assert "Renew before the next plate." in out
    assert "2.5 times the 10 s of the fresh bath" in out
    run("bath", "discard", "Fix 1")
    assert as_json(run, "bath", "list")["baths"] == []
    assert len(as_json(run, "bath", "list", "--all")["baths"]) == 1
    run("bath", "new", "Old", "gild", "--volume-ml", "100", "--mixed", "2026-01-01T10:00")
    age = max(row["age_days"] for row in as_json(run, "bath", "list")["baths"])
    assert f" {age:.0f} days" in run("bath", "list")[1], "tenths of a day say nothing after a year"
    run("bath", "discard", "Old")
    code, out, _ = run("bath", "new", "Fix 1", "my own way, weaker", "--volume-ml", "250")
    assert code == 0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ("plate new A1", "this label or id is in the book for another plate"),
        ("plate new A,2", "the label 'A,2' holds a comma; leave it out"),  # no list could name it
        ("plate rename A1 A,2", "the label 'A,2' holds a comma; leave it out"),
        ("plate new B1 B1", "'B1' is named twice"),
        ("plate new B1 --size huge", "'huge' is not a plate size"),
        ("plate new B1 --silver-um 0", "out of range"),
        ("plate new B1 --silver-um nan", "out of range"),
        ("plate new B1 --made 1.5.2026", "'1.5.2026' is not a date"),
        ("plate show A9", "'A9' is not in the book; did you mean A1"),
        ("plate grade A1", "no grade is given"),
        ("plate grade A1 best", "'best' is not known; use lost, study, good, fine or none"),
        ("plate grade A1 good --verdict dark", "'dark' is not known"),
        (
            "plate grade A1 good --stage coat",
            "'coat' is not a stage and its outcome; write it as coat=fault",
        ),
        ("plate grade A1 good --stage sky=ok", "'sky' is not known"),
        ("plate grade A1 good --stage coat=bad", "'bad' is not known"),
        ("plate grade A1 good --day soon", "'soon' is not a date"),
        ("plate grade A1 good --day 9999-12-31", "--day: 9999-12-31 is in the future"),
        ("plate defect A1 flat --from coat --day 1800-01-01", "--day: 1800-01-01 is before the"),
        (
            "plate work A1 polish",
            "'polish' is not a kind of work on a plate; did you mean polished",
        ),
        ("plate work A1 xyz", "use plated, polished, polished_back, recoated"),
        ("plate work A9 polished", "'A9' is not in the book; did you mean A1"),
        ("plate work A1 polished --at noon", "'noon' is not a time"),
        ("plate work A1 polished --at 2999-01-01", "is in the future"),
        ("plate work A1 polished --at 0001-01-01T00:00+14:00", "is not a usable time"),
        ("plate defect A1", "plate or defect is missing"),
        ("plate defect A1 fogg", "did you mean fog"),
        ("plate defect A1 fog", "--from: fog has many origins; give one of coat"),
        ("plate defect A1 fog --from gild", "fog does not come from 'gild'"),
        ("plate defect A1 fog --withdraw", "it has no 'fog' to take back"),
        ("reading add room_c", "quantity or value is missing"),
        ("reading add room_x 20", "'room_x' is not measured here"),
        ("reading add room_c 20 lx", "is not a unit of room_c"),
        ("reading add room_c nan", "it is not a finite number"),
        ("reading add room_c warm", "is not a number; give one such as 25"),
        ("reading add room_c 20 --at noon", "'noon' is not a time"),
        ("reading add room_c 20 --at 2999-01-01T10:00", "is in the future"),
        ("reading add room_c 20 --at 2020-01-01T10:00", "is more than 30 days ago"),
        ("reading add room_c 20 --run nowhere", "there is no run 'nowhere'"),
        ("reading add room_c 20 --plate A9", "'A9' is not in the book"),
        ("bath new F fix --volume-ml 0", "out of range"),
        ("bath new F fix --volume-ml nan", "out of range"),
        ("bath new F fix --volume-ml 500 --mixed 2999-01-01T10:00", "is in the future"),
        ("bath new Fix fix --volume-ml 500", "a bath 'Fix' is in use"),
        ("bath new F cyanide --volume-ml 500", "is refused"),
        ("bath new F mercury --volume-ml 500", "is refused"),
        ("bath use Fixx A1", "did you mean Fix"),
        ("bath use Fix", "none is named"),
        ("bath use Fix A9", "'A9' is not in the book"),
        ("bath use Fix --count -1", "less than nothing would remain"),
        ("bath use Fix --count 1 --size huge", "is not a plate size"),
        ("bath discard Nix", "did you mean Fix"),
        ("plate list --grade fin", "did you mean fine"),
        ("plate new A2 --made 9999-12-31", "is still to come"),
    ],
)
def test_slips_end_in_one_sentence(run, arguments, words):
    run("plate", "new", "A1")
    run("bath", "new", "Fix", "fix", "--volume-ml", "500")
    code, out, err = run(*arguments.split())
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1


def test_help_needs_no_book(run, monkeypatch):
    monkeypatch.delenv("ARGENTRY_STUDIO")
    for name in ("plate", "reading", "bath", "stock", "book"):
        code, out, err = run(name, "--help")
        assert (code, err) == (0, "")
        assert "Commands:" in out


def test_what_a_bath_takes_from_stock_is_said(studio, run, monkeypatch):
    opened, really = [], baths.studio_book
    monkeypatch.setattr(baths, "studio_book", lambda *a: opened.append(a) or really(*a))
    assert "Taken from stock" not in run("bath", "new", "Fix 1", "fix", "--volume-ml", "100")[1]
    run("stock", "new", "Hypo", "10", "g", "--opened", "2026-01-01", "--received", "2026-01-01")
    out = run("bath", "new", "Fix 2", "fix", "--volume-ml", "50")[1]
    assert "Taken from stock for all plates of this bath: 4 g of Hypo; if it was not: " in out
    assert "argentry stock undo 'Hypo'" in out
    out = run("bath", "new", "Fix 3", "fix", "--volume-ml", "500")[1]
    assert ": 6 g of Hypo" in out  # no more than there is
    assert "The opened lots lack 34 g of Hypo for such a bath: weigh the lot" in out
    assert len(opened) == 3, "each command opens the book once"


def test_gold_that_no_lot_held_is_said(run):
    salt = ("stock", "new", "Gold chloride", "0.12", "g", "--received", "2026-01-01")
    run(*salt, "--opened", "2026-01-01")
    out = run("bath", "new", "G2", "gild", "--volume-ml", "500")[1]
    assert ": 0.12 g of Gold chloride" in out
    assert "lack 0.38 g of Gold chloride for such a bath" in out  # 1 g of the salt in the litre


def test_a_bath_from_which_plates_were_taken_back_holds_no_less_than_nothing(run):
    run("bath", "new", "Fix", "fix", "--volume-ml", "500")
    run("bath", "use", "Fix", "--count", "3", "--size", "quarter")
    for _ in range(3):
        out = run("bath", "use", "Fix", "--count", "-1", "--size", "quarter")[1]
    assert "0 plates, 0 cm²" in out
    assert "-0" not in run("bath", "list")[1]


def test_a_question_that_nobody_answers_ends_in_one_sentence(run, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    code, _, err = run("book", "erase-words", "hello")
    assert code == 2
    assert "add --yes" in err
