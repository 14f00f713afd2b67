"""The measures of the families: a perfect oracle scores perfectly on each, and a liar badly."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

NAMES = ("cliffs", "pairs", "hazards", "bottles", "own columns", "outside", "luck")


def shown(rows):
    return {what: found for what, _, found in rows}


def odds_of(chances, width=0.1):
    return [SimpleNamespace(probability=p, low=p - width, high=p + width) for p in chances]


def test_an_oracle_of_odds_wins_and_a_liar_loses(bench):
    studios = [bench.draw.draw_studio("cliffs", seed, 30, 60) for seed in range(6)]
    good, bad = [], []
    for studio in studios:
        true = [studio.world.graded_good(one.work) for one in studio.after]
        flat = {peer: np.full(len(true), np.mean(true)) for peer in bench.peers.PEERS}
        good.append(bench.odds.judge(studio, odds_of(true), flat))
        bad.append(bench.odds.judge(studio, odds_of([1.0 - p for p in true], 0.01), flat))
    best, worst = shown(bench.odds.rows(good)), shown(bench.odds.rows(bad))
    held = "odds: 80 % range holds the true chance"
    against = "odds, all: log score against base rate"
    assert best[held].startswith("100%")
    assert float(worst[held].split("%")[0]) < 10
    assert float(best[against].split()[0]) < -0.05
    assert float(worst[against].split()[0]) > 0.3
    assert float(best["odds: calibration error"]) == 0.0
    assert float(worst["odds: calibration error"]) > 0.2


def cause(name, stage="coat", probability=0.95, *, named=True):
    return SimpleNamespace(
        cause=name, conditions=(), stage=stage, probability=probability, named=named
    )


def test_an_oracle_of_causes_names_them_all_and_a_liar_is_caught(bench):
    best, worst = [], []
    for family in NAMES:
        world = bench.draw.Shop(family, 2).world
        right = [cause(world.main.names[0])] if world.main else []
        best.append(bench.causes.judge(world, SimpleNamespace(causes=right)))
        worst.append(bench.causes.judge(world, SimpleNamespace(causes=[cause("the moon")])))
    best, worst = shown(bench.causes.rows(best)), shown(bench.causes.rows(worst))
    for words in ("named", "first", "in the first three"):
        assert best[f"causes: main cause {words}"].startswith("100%")
        assert worst[f"causes: main cause {words}"].startswith("0%")
    assert best["causes: one named that is none"].startswith("0%")
    assert worst["causes: one named that is none"].startswith("100%")


def test_a_cause_is_right_by_its_key_or_by_a_column_it_goes_through(bench):
    world = bench.draw.Shop("pairs", 0).world
    column = world.main.columns[0]
    by_column = SimpleNamespace(cause="something", conditions=(column,))
    assert bench.causes.is_of(by_column, world.main)
    assert not bench.causes.is_of(SimpleNamespace(cause="something", conditions=()), world.main)


def test_an_oracle_of_one_plate_is_right_in_every_band_and_a_liar_in_none(bench):
    best, worst = [], []
    for made in bench.draw.draw_studio("cliffs", 1, 80, 0).made:
        if not made.spoilt_by:
            continue
        right = made.spoilt_by[0]
        other = next(s for s in bench.studio.STAGES if s not in {m.stage for m in made.spoilt_by})
        told = SimpleNamespace(
            causes=[cause(right.names[0], right.stage, 0.99)], enough_plates=True
        )
        lie = SimpleNamespace(causes=[cause("the moon", other, 0.99)], enough_plates=True)
        best.append(bench.plate_causes.judge(made, told))
        worst.append(bench.plate_causes.judge(made, lie))
    best, worst = shown(bench.plate_causes.rows([best])), shown(bench.plate_causes.rows([worst]))
    both = "why PLATE: true cause or stage in the first three"
    assert (best[both], worst[both]) == ("100%", "0%")
    band = next(what for what in best if "with 85%" in what)
    assert best[band].startswith("said 99%, true 100% (")
    assert worst[band].startswith("said 99%, true 0% (")


@pytest.mark.parametrize("peer", ["ridge", "boosting", "forest"])
def test_a_peer_finds_what_is_plain(bench, peer):
    rng = np.random.default_rng(1)
    x, new = rng.normal(size=(150, 8)), rng.normal(size=(200, 8))
    y = (rng.random(150) < np.where(x[:, 0] > 0, 0.9, 0.2)).astype(float)
    true = np.where(new[:, 0] > 0, 0.9, 0.2)
    loss = bench.scores.expected_log_loss
    base = loss(bench.peers.base_rate(x, y, new), true)
    assert loss(bench.peers.PEERS[peer](x, y, new), true) < base - 0.1


def test_what_a_plate_never_reached_tells_a_peer_nothing(bench):
    rng = np.random.default_rng(2)
    rows = []
    for n in range(120):
        lost = n % 2
        row = {"plate": str(n), "grade": "lost" if lost else "good", "a": str(rng.normal())}
        rows.append(row if lost else {**row, "b": str(rng.normal()), "word": "distilled"})
    said = bench.peers.predict(rows, [{"a": 0.1, "b": 0.2, "word": "distilled"}])
    assert all(0.35 < chance[0] < 0.65 for chance in said.values())


def test_a_mean_over_studios_weighs_each_by_what_it_counts(bench):
    mean = bench.scores.Mean()
    for total, count in ((1, 1), (0, 3), (0, 0)):
        mean.add(total, count)
    assert mean.value == 0.25
    assert mean.shown() == "25% ± 38%"


def test_the_families_take_turns_and_a_small_run_is_a_table(bench, monkeypatch):
    assert bench.report.seeds(["a", "b"], 3) == [("a", 0), ("b", 0), ("a", 1)]
    told = SimpleNamespace(causes=[cause("damp_air")])
    monkeypatch.setattr(bench.doors, "open_notebook", lambda _studio: None)
    monkeypatch.setattr(bench.doors, "causes", lambda _book: told)
    wanted = bench.report.Wanted(("luck",), (30,), ("causes",), 2)
    rows = list(bench.report.table(wanted))
    assert (30, "causes: one named that is none", "at most 5 %", "100% ± 0%") in rows


def test_the_page_keeps_what_another_run_found(bench, tmp_path):
    page = tmp_path / "page.md"
    marks = [f"<!-- {word}: now, by benchmarks.families -->" for word in ("begin", "end")]
    page.write_text("Above.\n\n" + "\n".join(marks) + "\n\nBelow.\n", encoding="utf-8")
    bench.report.write("now", [(60, "a", "1", "x"), (120, "a", "1", "y")], page)
    bench.report.write("now", [(30, "b", "", "z"), (120, "a", "1", "w")], page)
    assert page.read_text(encoding="utf-8") == (
        "Above.\n\n"
        f"{marks[0]}\n"
        "| what | asked | 30 plates | 60 plates | 120 plates |\n"
        "|---|---|---|---|---|\n"
        "| a | 1 |  | x | w |\n"
        "| b |  | z |  |  |\n"
        f"{marks[1]}\n\nBelow.\n"
    )


def settable(bench, seeds=range(12)):
    """Return a studio of cliffs whose cause is a setting."""
    for seed in seeds:
        world = bench.draw.Shop("cliffs", seed).world
        if world.main.columns[0] in bench.following.RANDOM:
            return seed, world.main
    raise AssertionError("no cliff is a setting")


def test_next_followed_gains_by_the_right_change_and_loses_by_the_wrong_one(bench):
    seed, main = settable(bench)
    ((column, safe),) = main.better.items()
    usual = np.median(
        [m.work.values[column] for m in bench.draw.draw_studio("cliffs", seed, 60).made]
    )
    worse = usual * (usual / max(safe, 0.5))

    def told(to):
        return bench.following.follow(
            "cliffs", seed, 30, lambda _: (column, float(usual), to, False)
        )

    right, wrong = told(float(safe)), told(float(worse))
    assert right["lever"]
    assert right["no change"] == wrong["no change"]
    assert right["next"] > right["no change"] + 0.05
    assert wrong["next"] < wrong["no change"] - 0.05
    rows = shown(bench.following.rows([right, right]))
    gain = next(v for what, v in rows.items() if "can be set: points over no change" in what)
    assert float(gain.split()[0]) > 5.0


def test_keeping_the_settings_changes_nothing_and_counts_as_kept(bench):
    one = bench.following.follow("luck", 1, 20, lambda _: None)
    assert one["next"] == one["no change"]
    assert one["minutes"] == 0.0
    assert one["kept"] == [True] * 6  # asked before every tenth of 60 plates
    rows = shown(bench.following.rows([one]))
    assert rows["next: keeps the settings where nothing nameable is wrong"] == "100%"
    restless = bench.following.follow(
        "luck", 1, 20, lambda _: ("box_rest_minutes", 60.0, 90.0, False)
    )
    assert restless["minutes"] > 5.0
    assert (
        shown(bench.following.rows([restless]))[
            "next: keeps the settings where nothing nameable is wrong"
        ]
        == "0%"
    )


def test_a_change_to_teach_is_made_on_one_plate_and_a_second_one_does_not_add_up(bench):
    made = bench.draw.draw_studio("luck", 2, 40, 0).made
    settings, work = bench.following.Settings(made), made[0].work
    before = work.values["buff_minutes"]
    settings.apply(work, ("buff_minutes", 20.0, 30.0))
    assert work.values["buff_minutes"] == pytest.approx(before * 1.5, abs=0.1)
    assert settings.moved == {}
    settings.move("buff_minutes", 20.0, 24.0)
    settings.move("buff_minutes", 22.0, 26.0)  # what was usual has not yet caught up
    assert settings.moved == {"buff_minutes": (20.0, 26.0)}
    work = made[1].work
    ends = work.values["development_end"]
    settings.apply(work, ("development_minutes", 100.0, 400.0))
    assert work.values["development_end"] > ends
    assert settings.far


def test_what_the_season_brought_beyond_the_usual_is_not_laid_to_a_change(bench):
    made = bench.draw.draw_studio("luck", 2, 40, 0).made
    settings, work = bench.following.Settings(made), made[0].work
    high = settings.usual["box_c"][1]
    work.values["box_c"] = high + 1.0
    settings.apply(work, ("box_c", 20.0, 21.0))
    assert work.values["box_c"] == pytest.approx(high + 2.0, abs=0.1)
    assert not settings.far
    work.values["box_c"] = high - 0.5
    settings.apply(work, ("box_c", 20.0, 21.0))
    assert settings.far


def test_the_true_chance_of_a_batch_is_that_of_the_studio(bench):
    shop = bench.draw.Shop("luck", 3)
    made = [shop.make() for _ in range(20)]
    number = shop.hands.number
    true = [bench.batch.true_chance(shop, start, 3, 3, futures=40) for start in (2, 6, 30)]
    assert true[0] == 0.0
    assert 0.2 < true[1] < 1.0
    assert true[2] == 1.0
    assert shop.hands.number == number == len(made)  # no future leaves a trace
    rows = shown(
        bench.batch.rows(
            [{"said": 0.9, "true": 0.9, "start": 9}, {"said": 0.9, "true": 0.5, "start": 7}]
        )
    )
    assert rows["need: true"].startswith("70%")
    assert rows["need: studios where it is true in under 70 %"].startswith("50%")


def test_numbers_are_held_by_an_oracle_and_missed_by_a_liar(bench, monkeypatch):
    monkeypatch.setattr(bench.numbers, "_growth", lambda: np.full((3, 3), 4.0))
    rows, true = bench.numbers.notebook(1, 40, "new bottle")
    assert len(rows) == 40
    assert {row["iodine_bottle"] for row in rows} == {"no 1", "no 2"}
    assert {row["exposure_verdict"] for row in rows} >= {"right"}
    quiet, _ = bench.numbers.notebook(1, 40, "quiet")
    assert {row["iodine_bottle"] for row in quiet} == {"no 1"}

    def told(by):
        said = {what: by * true[what] for what in bench.numbers.WHAT}
        return SimpleNamespace(
            numbers=[
                SimpleNamespace(what=what, value=value, low=0.9 * value, high=1.1 * value)
                for what, value in said.items()
            ]
        )

    best = shown(bench.numbers.rows([bench.numbers.judge("new bottle", told(1.0), true)]))
    lie = told(2.0 ** true["jump"])  # what was so before the bottle
    worst = shown(bench.numbers.rows([bench.numbers.judge("new bottle", lie, true)]))
    held = [what for what in best if "80 % range" in what]
    assert len(held) == 4
    assert all(best[what].startswith("100%") for what in held)
    assert all(worst[what].startswith("0%") for what in held)
    lag = next(what for what in best if "share of the jump" in what)
    assert (best[lag], worst[lag]) in {("0%", "100%"), ("-0%", "100%")}


def test_verdicts_of_a_notebook_are_read(bench, tmp_path, monkeypatch):
    import argentry

    monkeypatch.setattr(bench.numbers, "_growth", lambda: np.full((3, 3), 4.0))
    rows, _ = bench.numbers.notebook(2, 30, "quiet")
    bench.draw.write_table(tmp_path / "plates.csv", rows)
    book = argentry.load_plates(table=tmp_path / "plates.csv")
    assert len(book.makings) == 30
    assert sum(one.verdict is not None for one in book.makings) == 30
    assert not any("left out" in note for note in book.notes)


def test_advice_of_an_oracle_beats_the_rule_and_always_stopping_makes_nothing(bench):
    advice, seen = bench.advice, {}
    shop = bench.draw.Shop("cliffs", 1)
    rule = best = 0.0
    for day in range(12):
        luck = advice.Luck(shop, 1, day, [shop.work() for _ in range(8)])

        def oracle(work, stage, answers, left, luck=luck):
            plate = luck.works.index(work)
            key = plate, stage, left
            seen[key] = seen.get(key, 0) + 1
            attempt = sum(k[:2] == (plate, stage) for k in seen) - 1
            spoilt = luck.faults(plate, stage, attempt)
            if not spoilt:
                return "continue"
            return "redo" if stage == "polish" else "stop"

        seen.clear()
        rule += advice.whole_day(luck, lambda *_: "continue")
        best += advice.whole_day(luck, oracle)
        assert advice.whole_day(luck, lambda *_: "stop") == 0.0
        assert advice.whole_day(luck, lambda *_: "continue") == advice.whole_day(
            luck, lambda *_: "continue"
        )
    assert best > 1.05 * rule
    rows = shown(advice.rows([{"kind": "usual", "rule": rule, "advised": best}]))
    (found,) = rows.values()
    assert found.startswith("+")


def test_a_look_tells_more_often_than_not(bench):
    shop = bench.draw.Shop("cliffs", 1)
    works = [shop.work() for _ in range(150)]
    luck = bench.advice.Luck(shop, 1, 0, works)
    fault = bench.studio.Spoiler("x", "polish", lambda _: 1.0)
    for stage, least in (("polish", 0.5), ("development", 0.75)):
        wrong = np.mean([luck.look(n, stage, 0, [fault]) == "wrong" for n in range(150)])
        false = np.mean([luck.look(n, stage, 0, []) == "wrong" for n in range(150)])
        assert wrong > least
        assert false < 0.2


def test_pooling_is_told_against_more_plates_of_ones_own(bench, monkeypatch):
    pooling, doors = bench.pooling, bench.doors
    assert len(set(pooling.donors("cliffs", 1))) == pooling.FILES
    monkeypatch.setattr(pooling, "OF_DONOR", 12)
    monkeypatch.setattr(pooling, "donors", lambda _family, _seed: [5, 6])
    monkeypatch.setattr(doors, "can_pool", lambda: True)
    monkeypatch.setattr(doors, "share", lambda _folder, file: file)
    monkeypatch.setattr(doors, "open_studio", lambda folder: folder)
    # an adopted file counts as good as true odds, unless an odd one is among them
    adopted = {}
    monkeypatch.setattr(doors, "adopt", adopted.setdefault)

    def odds(folder, _known):
        files = adopted.get(folder)
        known = folder.name == "more" or (files and not any(f.name == "odd.toml" for f in files))
        return SimpleNamespace(probability=0.6 if known else 0.2)

    monkeypatch.setattr(doors, "odds", odds)
    found = shown(pooling.rows([pooling.of_studio("cliffs", 1, 10)]))
    assert list(found.values()) == ["100%", "0%"]
    assert shown(pooling.rows([None])) == {next(iter(found)): pooling.NOT_RUN}


def test_a_turned_notebook_has_every_grade_the_other_way_round(bench):
    studio = bench.draw.draw_studio("luck", 1, 20, 0)
    good = {"good", "fine"}
    for row, other in zip(studio.rows, bench.pooling.turned(studio), strict=True):
        assert (row["grade"] in good) != (other["grade"] in good)


def test_few_studios_show_an_error_where_there_is_none(bench):
    """A calibrated teller stands amid its chance draws, one off in every studio above them all."""
    rng = np.random.default_rng(5)
    score, chance = bench.scores.calibration_error, bench.scores.calibration_by_chance
    found, drawn = [], []
    for _ in range(30):
        said = [rng.uniform(0.3, 0.7, 24) for _ in range(40)]
        true = [one + rng.normal(0.0, 0.1) for one in said]  # plates of a studio are off together
        found.append(score(np.concatenate(said), np.concatenate(true)))
        drawn.append(chance(said, true, draws=40).mean())
    assert np.mean(found) == pytest.approx(np.mean(drawn), rel=0.15)
    assert np.mean(found) > 0.012  # though nothing is off
    off = [one - 0.1 for one in true]
    assert chance(said, off).max() < score(np.concatenate(said), np.concatenate(off))
