"""The page's fold against the same cases as the book's fold."""

import json
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from argentry.bench.dew import dew_rule, dew_words, with_air
from argentry.records.run import RunReading, RunState

NOON = datetime(2026, 11, 30, 12, 0, tzinfo=UTC)
CASES = sorted((Path(__file__).parents[1] / "fixtures" / "fold").glob("*.json"))
FOLD = """async ([events, now]) => {
  const { fold } = await import("/static/bench/fold.js");
  const { readMoment } = await import("/static/bench/moments.js");
  const at = now === null ? null : readMoment(now);
  const turned = [...events].reverse();
  return [fold(events, at), fold(turned, at), fold([...events, ...turned], at)];
}"""


def near(found, expected, where=""):
    if isinstance(expected, dict):
        assert set(found) == set(expected), where
        for key in expected:
            near(found[key], expected[key], f"{where}.{key}")
    elif isinstance(expected, list):
        assert len(found) == len(expected), where
        for place, (one, other) in enumerate(zip(found, expected, strict=True)):
            near(one, other, f"{where}[{place}]")
    elif isinstance(expected, (int, float)) and not isinstance(expected, bool):
        assert abs(found - expected) < 2e-3, where
    else:
        assert found == expected, where


def test_there_are_cases():
    assert len(CASES) >= 15


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_the_page_folds_as_the_book_does(blank, case):
    told = json.loads(case.read_text(encoding="utf-8"))
    for found in blank.evaluate(FOLD, [told["events"], told["now"]]):
        near(found, told["expect"])


def test_ids_are_version_7_and_sort_as_they_were_made(blank):
    ids = blank.evaluate("""async () => {
      const { newId } = await import("/static/bench/ids.js");
      const many = [];
      for (let n = 0; n < 5000; n += 1) many.push(newId(1_800_000_000_000 + Math.floor(n / 3000)));
      return many;
    }""")
    # RFC 9562, section 5.7: 48 bits of Unix milliseconds, then version 7 and variant 10
    assert len(set(ids)) == 5000
    assert ids == sorted(ids)
    assert all(one[14] == "7" and one[19] in "89ab" for one in ids)
    assert int(ids[0].replace("-", "")[:12], 16) == 1_800_000_000_000


@pytest.mark.parametrize(
    ("text", "micros"),
    [
        ("1970-01-01T00:00:00.000001Z", 1),
        ("2026-06-21T10:00:00+02:00", 1782028800000000),
        ("2026-06-21T08:00:00.5Z", 1782028800500000),
        ("2026-02-30T08:00:00Z", None),
        ("2026-06-21T08:00:00", None),
        ("soon", None),
    ],
)
def test_moments_are_read(blank, text, micros):
    read = """async (text) =>
      (await import("/static/bench/moments.js")).readMoment(text)"""
    assert blank.evaluate(read, text) == micros


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0, "0:00"),
        (47.2, "0:48"),
        (-0.4, "0:00"),
        (-35.9, "+0:35"),
        (8040, "2 h 14"),
        (-4000, "+1 h 06"),
    ],
)
def test_counting_is_read_at_a_glance(blank, seconds, told):
    count = """async (seconds) =>
      (await import("/static/bench/words.js")).counting(seconds)"""
    assert blank.evaluate(count, seconds) == told


def test_the_list_knows_what_is_taken_back_through_any_chain(blank):
    found = blank.evaluate("""async () => {
      const { takenBack } = await import("/static/bench/happened.js");
      const one = (id, at, event, withdrawn = true) => ({ id, at, kind: "corrected",
        body: withdrawn ? { event, withdrawn } : { event, at: "2026-06-21T08:00:00Z" } });
      const step = { id: "s", at: "1", kind: "step_begun", body: {} };
      const chain = [step, one("a", "2", "s"), one("b", "3", "a"), one("c", "4", "b")];
      const told = [1, 2, 3, 4].map((many) => takenBack(chain.slice(0, many)).has("s"));
      return [...told, takenBack([step, one("a", "2", "s"), one("d", "5", "s", false)]).has("s")];
    }""")
    assert found == [False, True, False, True, False]


def test_arrows_go_round_a_list_from_either_end(blank):
    told = """async () => {
      const { listen } = await import("/static/bench/keys.js");
      const main = document.createElement("main");
      main.innerHTML = "<button>a</button><button>b</button><button class=off>c</button>";
      document.body.replaceChildren(main);
      listen(main, { act() {}, hold() {}, onScreen: () => ({ name: "more", many: true }) });
      const press = (key) => {
        const event = new KeyboardEvent("keydown", { key });
        Object.defineProperty(event, "timeStamp", { value: (press.at = (press.at ?? 0) + 1000) });
        document.dispatchEvent(event);
        return document.activeElement.textContent;
      };
      const up = [press("ArrowUp"), press("ArrowUp"), press("ArrowUp")];
      document.activeElement.blur();
      return [...up, press("ArrowDown"), press("ArrowDown"), press("ArrowDown")].join("");
    }"""
    assert blank.evaluate(told) == "baba" + "ba"


def test_the_page_says_how_warm_a_back_must_be_as_the_terminal_does(blank):
    cases, told_at = [], "{:%Y-%m-%dT%H:%M:%S.%fZ}".format
    for warm, humidity, back, plate in (
        (10.0, 80.0, None, None), (20.0, 50.0, 12.2, "p"), (-3.0, 95.0, -2.6, None),
        (9.0, 92.0, 10.0, "q"), (30.0, 70.0, 26.9, "p"), (9.0, None, 10.0, "p"),
    ):  # fmt: skip
        read = [("room_c", warm, None), ("room_rh_pct", humidity, None), ("plate_c", back, plate)]
        readings = [
            RunReading(what, value, "", "", NOON, of, None)
            for what, value, of in read
            if value is not None
        ]
        state = RunState("r", "", "open", NOON + timedelta(seconds=9), readings=tuple(readings))
        told = [
            {"what": r.what, "value": r.value, "plate": r.plate, "at": told_at(NOON)}
            for r in readings
        ]
        run = {"now": told_at(state.now), "readings": told}
        cases.append((dew_words(state, "p", "warm"), run, []))
        hour = NOON - timedelta(minutes=55)  # a sensor's, outside the run
        cold = (
            RunReading("room_c", 8.0, "", "", hour),
            RunReading("room_rh_pct", 81.0, "", "", hour),
        )
        sensed = [{"what": r.what, "value": r.value, "at": told_at(r.at)} for r in cold]
        cases.append((dew_words(with_air(state, cold), "p", "warm"), run, sensed))
    said = blank.evaluate(
        """async ([rule, states]) => {
          document.body.dataset.zone = "UTC"; // before words.js is read
          const { dewWords } = await import("/static/bench/dew.js");
          return states.map(([state, air]) => dewWords(rule, state, "p", "warm", air));
        }""",
        [asdict(dew_rule()), [one[1:] for one in cases]],
    )
    assert said == [words for words, *_ in cases]
    assert said[-2] == ""
    assert "by the air read at" in said[-1]
