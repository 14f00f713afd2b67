"""Test files mirror the source: a module has its test file, or stands here with where it is tested.

A module of a few lines, or of records without a function, needs none.
"""

import ast
import re
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SMALL = 60  # lines
# Parts of one whole are tested as that whole: by what comes out at its door.
TESTED_BY = {
    "trade/test_recipes.py": ["trade/chemistry/gilding.py"],
    "needs/materials/test_plating.py": ["needs/materials/plate_wear.py"],
    "exchange/plates/test_mapping.py": ["exchange/plates/mapping_file.py"],
    "bench/test_event_check.py": ["records/event.py"],
    "desk/bench/test_acts.py": ["desk/bench/seat.py"],
    "day/test_tables.py": ["day/good_count.py"],
    "book/test_baths.py": ["book/lots.py"],
    "book/care/test_backup.py": [
        "book/care/copies.py", "book/care/restore.py", "book/open.py",
    ],
    "judge/test_coat.py": [
        "judge/bare_silver.py", "judge/coat_map.py", "judge/evenness.py",
    ],
    "judge/outline/test_plate_edges.py": [
        "judge/outline/piece_corners.py", "judge/outline/straight.py",
    ],
    "judge/test_wedge.py": ["judge/wedge_curve.py"],
    "judge/test_plate.py": [
        "judge/buff_lines.py", "judge/scratches.py", "judge/sharpness.py", "judge/spots.py",
    ],
    "judge/test_change.py": ["judge/register.py"],
    "judge/test_marked_edge.py": ["judge/edge_blur.py"],
    "keeping/seeing/test_blur.py": ["keeping/seeing/curve.py"],
    "keeping/seeing/test_ripening.py": ["cli/seeing/ripening.py"],
    "keeping/seeing/test_scale.py": ["cli/seeing/scale.py"],
    "keeping/stock/test_baths.py": ["keeping/stock/known_baths.py"],
    "book/materials/test_through_baths.py": ["book/materials/bath_notes.py"],
    "keeping/seeing/test_coat.py": ["keeping/seeing/kept.py", "keeping/seeing/words.py"],
    "exchange/sheets/test_file.py": [
        "exchange/sheets/tame.py", "records/answers/notebook.py",
    ],
    "keeping/seeing/test_condition.py": [
        "out/plates/condition_sheet.py", "out/sheet_parts.py", "records/answers/condition.py",
    ],
    "keeping/seeing/test_many.py": [
        "cli/seeing/judge_survey.py", "cli/seeing/judge_options.py", "exchange/sheets/growing.py",
        "exchange/sheets/parquet.py", "records/answers/survey.py",
    ],
    "keeping/seeing/test_wedge.py": ["keeping/seeing/picture.py", "records/answers/seen.py"],
    "web/pages/test_seen.py": [
        "web/drawn.py","desk/pages/seen.py", "out/plates/seen_pictures.py"],
    "book/pictures/test_reading.py": ["book/pictures/child.py"],
    "keeping/plates/test_pictures.py": ["book/pictures/kept.py"],
    "web/pages/test_pictures.py": ["web/uploads.py"],
    "book/care/test_salvage.py": ["book/care/damaged.py"],
    "book/care/test_doctor.py": ["book/care/shape.py", "book/hold.py", "book/care/seal.py"],
    "book/test_engine.py": ["book/tables.py"],
    "book/test_from_runs.py": ["book/judgements.py", "book/makings.py"],
    "book/test_makings_migration.py": ["book/upgrade.py"],
    "book/runs/test_fold.py": ["book/runs/about.py",
        "book/runs/corrections.py", "book/runs/moving.py", "book/runs/rules.py",
    ],
    "web/test_pairing.py": ["book/devices.py", "web/devices.py"],
    "cli/plates/test_book_notebook.py": ["book/notebooks.py"],
    "exchange/notebook/test_notebooks.py": [
        "exchange/notebook/draft.py", "exchange/notebook/guess.py", "exchange/notebook/heads.py",
        "exchange/notebook/rest.py", "exchange/notebook/written.py", "exchange/plates/days.py",
        "exchange/plates/moments.py", "exchange/plates/numbers.py", "exchange/sheets/grid.py",
    ],
    "cli/bench/test_bench.py": ["cli/bench/hand.py", "cli/bench/bench_keys.py"],
    "keeping/plates/test_wear.py": ["cli/work/plating.py"],
    "needs/materials/test_water.py": ["cli/materials/water.py"],
    "cli/test_expose_develop.py": [
        "cli/work/develop.py", "cli/work/expose.py", "records/answers/expose.py",
    ],
    "cli/test_learning.py": [
        "cli/learning/learn.py", "cli/learning/next_.py", "cli/learning/odds.py",
        "cli/planning/need.py", "desk/learning/sharing.py",
        "out/learning/shared.py",
    ],
    "plan/test_dispatch.py": ["plan/rows.py"],
    "learn/pooling/test_pool.py": [
        "learn/pooling/scales.py", "learn/pooling/share.py", "learn/stages/assumed.py",
    ],
    "cli/planning/test_light.py": ["cli/planning/place.py"],
    "cli/planning/test_light_meter.py": ["out/meter_card.py", "out/meter_chart.py"],
    "cli/test_plate_reading_bath.py": [
        "cli/materials/bath.py", "cli/plates/plate.py", "cli/plates/reading.py",
        "out/plates/words.py",
    ],
    "out/materials/test_labels.py": [
        "out/drawing/pictograms.py", "out/materials/paper.py",
    ],
    "cli/plates/test_label.py": [
        "cli/materials/cost.py", "cli/materials/safety.py", "cli/materials/waste.py",
        "out/materials/printing.py", "out/materials/sheets.py",
    ],
    "web/test_serve.py": ["cli/bench/serve.py", "cli/main.py", "web/run.py"],
    "demo/test_write.py": [
        "demo/booking.py", "demo/daily_light.py", "demo/days.py", "demo/developing.py",
        "demo/exposing.py", "demo/finishing.py", "demo/plate_story.py", "demo/preparing.py",
        "demo/studio.py", "demo/year.py",
    ],
    "needs/test_coat.py": [
        "needs/coat_fit.py", "needs/coat_view.py", "needs/named_files/columns.py",
    ],
    "desk/bench/test_replan.py": ["desk/bench/standing.py"],
    "desk/bench/test_run.py": [
        "bench/opening.py",
    ],
    "keeping/forecast/test_side_by_side.py": ["desk/forecasts.py"],
    "keeping/forecast/test_fetch.py": ["exchange/services/asking.py"],
    "cli/planning/test_weather.py": ["keeping/forecast/states.py"],
    "keeping/forecast/test_readings_first.py": [
        "desk/bench/as_read.py", "records/weather.py", "sky/weather/whole_day.py",
    ],
    "sky/test_light_read.py": ["sky/meters.py"],
    "keeping/forecast/test_record.py": ["keeping/forecast/said.py"],
    "desk/test_wishes.py": ["studio/today.py"],
    "day/test_sitters.py": ["day/appointments.py"],
    "day/test_plan.py": [
        "day/planner_light.py",
    ],
    "desk/learning/test_causes.py": [
        "desk/learning/odds.py",
        "desk/learning/standing.py",
    ],

    "desk/test_notebook.py": ["desk/notebook_taken.py"],
    "desk/numbers/test_kept.py": ["desk/numbers/making_facts.py",
        "desk/numbers/fitted.py", "desk/numbers/makings.py", "desk/numbers/own_numbers.py",
    ],
    "keeping/plates/test_makings.py": [
        "keeping/plates/grades.py", "keeping/plates/mistakes.py", "keeping/plates/plates.py",
    ],
    "keeping/stock/test_lots.py": ["keeping/book.py"],
    "desk/test_book_journey.py": [
        "keeping/book_transfer.py",
        "desk/runs.py",
    ],
    "cli/materials/test_recipe.py": ["needs/recipe.py"],
    "exchange/archive/test_archive.py": [
        "exchange/archive/pictures.py", "exchange/archive/rows.py", "exchange/archive/store.py",
    ],
    "exchange/plates/test_table.py": ["exchange/plates/cells.py"],
    "cli/plates/test_book_transfer.py": ["exchange/plates/csv.py"],
    "exchange/weather/test_table.py": ["exchange/weather/mapping.py"],
    "learn/causes/test_plate_causes.py": ["learn/causes/findings.py"],
    "learn/causes/test_suspects.py": ["learn/causes/shapes.py", "learn/causes/spreads.py"],
    "needs/test_doubt.py": [
        "day/fading.py",
        "needs/doubt/compose.py", "needs/doubt/development.py", "needs/doubt/exposure.py",
        "needs/doubt/fuming.py",
        "needs/doubt/words.py", "records/answers/doubt.py", "sky/light_doubt.py",
        "sky/weather/turns.py",
    ],
    "needs/test_expose.py": ["needs/camera.py"],
    "needs/test_step_lengths.py": [
        "needs/red_light.py", "needs/light_lengths.py", "records/run.py",
    ],
    "needs/test_one_answer.py": [
        "needs/camera_time.py", "needs/development_time.py", "needs/numbers.py",
        "needs/over_iodine.py",
    ],
    "out/season/test_chart.py": ["out/season/pdf.py", "out/season/words.py"],
    "desk/test_season.py": ["day/season/told.py"],
    "out/day/test_band.py": ["out/day/bars.py"],
    "out/day/test_sheet_pdf.py": ["out/day/hour_words.py"],
    "out/day/test_sheet_terminal.py": [
        "out/day/band_text.py", "out/day/screen.py",
    ],
    "out/learning/test_charts.py": ["out/learning/tables.py", "out/learning/words.py"],
    "outside/test_thin_film_tmm.py": ["physics/coat/thin_film.py"],
    "learn/deciding/test_checkpoints.py": ["records/decision.py"],
    "learn/odds/test_fitting.py": ["records/learned.py"],
    "cli/plates/test_book.py": ["errors.py"],
    "needs/test_light.py": ["sky/meter_reading.py"],
    "sky/test_sky_day.py": ["sky/clear_day.py"],
    "sky/weather/test_days.py": ["sky/weather/hours.py"],
    "studio/test_file.py": ["records/instruments.py", "studio/check.py"],
    "learn/causes/test_studio_causes.py": ["trade/causes.py"],
    "trade/test_steps.py": ["trade/cautions.py", "trade/step_check.py", "trade/step_rule.py"],
    "trade/test_stock.py": ["trade/materials.py"],
    "trade/test_defects.py": ["trade/entries.py"],
    "web/test_api.py": ["web/answers.py", "web/api/runs.py"],
    "web/test_guard.py": ["web/app.py", "web/settings.py"],
    "web/pages/test_copies.py": ["desk/pages/copies.py"],
    "web/pages/test_learning.py": ["desk/pages/learning.py"],
    "web/pages/test_plates.py": [
        "desk/learning/kept_plates.py",
    ],
    "web/test_advisor.py": ["web/advising.py"],
    "web/tls/test_authority.py": ["web/tls/names.py"],
}  # fmt: skip
HOME = {module: test for test, modules in TESTED_BY.items() for module in modules}


def asks_for_a_test(path):
    text = path.read_text(encoding="utf-8")
    if path.name == "__init__.py" or "migrations" in path.parts or text.count("\n") <= SMALL:
        return False
    return any(isinstance(node, ast.FunctionDef) for node in ast.walk(ast.parse(text)))


def mirror(module):
    folder, _, name = module.rpartition("/")
    return f"{folder}/test_{name}" if folder else f"test_{name}"


@pytest.fixture(scope="module")
def builder():
    """Return the builder that makes mutants."""
    spec = spec_from_file_location("mutants", ROOT / "builders/mutants.py")
    found = module_from_spec(spec)
    sys.modules[spec.name] = found
    spec.loader.exec_module(found)
    return found


@pytest.fixture(scope="module")
def reach(builder):
    """Which test files reach which modules, from the builder that makes mutants."""
    found = builder.Reach(left_out=())
    here = ROOT / "tests"
    known = set(found.names)
    # a test also reaches what it starts as a process, and what its room's conftest makes
    for test, used in found.tests.items():
        text = (here / test).read_text(encoding="utf-8")
        used.update(known & set(re.findall(r"argentry(?:\.\w+)+", text)))
        for folder in list((here / test).parents)[: -len(here.parents) - 1]:
            if (folder / "conftest.py").exists():
                used.update(builder._imports(folder / "conftest.py", known))
    return found


def test_every_module_has_its_test_file_or_is_named_here():
    source = ROOT / "src/argentry"
    every = {path.relative_to(source).as_posix(): path for path in source.rglob("*.py")}
    without = [m for m in every if m not in HOME and not (ROOT / "tests" / mirror(m)).exists()]
    assert set(every) > set(without) > set()
    missing = sorted(module for module in without if asks_for_a_test(every[module]))
    assert missing == [], "write its test file, or name here the one that tests it"


def test_nothing_is_named_that_need_not_be():
    assert len(HOME) == sum(len(modules) for modules in TESTED_BY.values())
    gone = [m for m in HOME if not (ROOT / "src/argentry" / m).exists()]
    assert gone == []
    assert [m for m in HOME if (ROOT / "tests" / mirror(m)).exists()] == []


def test_what_is_named_reaches_its_modules(reach):
    astray = [
        (module, test)
        for module, test in HOME.items()
        if test not in {one for found in reach.rounds(f"argentry/{module}", 8) for one in found}
    ]
    assert [f"{module}: {test}" for module, test in astray] == []


def test_as_many_mutants_are_drawn_as_are_asked_for_and_all_are_python(builder):
    lines = sum(
        any(builder._is_python(one, text) for one in changes)
        for path in sorted((ROOT / "src/argentry/trade/chemistry").glob("*.py"))
        for text in [path.read_text(encoding="utf-8")]
        for changes in builder.mutants_of(path.name, text).values()
    )
    drawn = builder.draw(["trade/chemistry"], 1, lines)
    assert len(drawn) == lines
    for one in drawn[:20]:
        text = (ROOT / "src" / one.file).read_text(encoding="utf-8")
        assert builder._is_python(one, text)
        assert one.after != one.before
