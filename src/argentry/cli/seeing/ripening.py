"""``argentry judge ripening``: how far a plate has come, by pictures through the red filter."""

from __future__ import annotations

from pathlib import Path

import click

from argentry.cli.common import console
from argentry.cli.planning.place import LearnedCall, moment, of_studio
from argentry.cli.seeing.judge_options import show_rest
from argentry.errors import BadInput
from argentry.needs.doubt.percent import percent
from argentry.records.answers.ripening_seen import RipeningSeen

LOOK = "{file}: {dose:.0f} kJ/m², shadows {shadows:.2f}, middle {middle:.2f}, lights {lights:.2f}"
DOSE = "Ripe at {middle:.0f} kJ/m² ({low:.0f} to {high:.0f}); {chance} likely by now"
BOTH = "the light is given twice, by --begun or --at too"
NO_STUDIO = "without a studio there is no frame, and the light is not known"


@click.command("ripening")
@click.argument("files", metavar="FILE...", nargs=-1, required=True,
                type=click.Path(path_type=Path))  # fmt: skip
@click.option("--bare", metavar="EDGE", help="Edge with bare silver: left, right, top or bottom.")
@click.option(
    "--middle", metavar="X,Y,W,H",
    help="A part of the last picture that is to be a middle tone, such as a face, in pixels.",
)  # fmt: skip
@click.option("--begun", metavar="TIME", help="When development began, ISO 8601; needs --at.")
@click.option("--at", metavar="M1,M2,...", help="Minutes since then, of each picture.")
@click.option(
    "--dose", metavar="D1,D2,...",
    help="Light behind the filter until each picture in kJ/m2, in place of --begun and --at.",
)  # fmt: skip
@click.option("--frame", metavar="NAME", help="Which of the studio's frames (default: the first).")
@of_studio
def ripening(
    call: LearnedCall,
    /,
    files: tuple[Path, ...],
    *,
    bare: str | None,
    middle: str | None,
    begun: str | None,
    at: str | None,
    dose: str | None,
    frame: str | None,
) -> None:
    """Say whether a plate under the red filter is ripe, and how long it still takes.

    Give the pictures in order of time, the first from when the frame went out, a bare edge in view.
    Without --dose the light is that of the studio's frame under a clear sky.
    """
    from argentry.keeping.seeing.picture import four, numbers
    from argentry.keeping.seeing.ripening import AskedRipening, judge_ripening_files
    from argentry.needs.red_light import red_light

    if dose is not None and (begun is not None or at is not None):
        raise BadInput("--dose", BOTH, "give the one or the other")
    now = call.now()
    if begun is not None and now.studio is None:
        raise BadInput("--begun", NO_STUDIO, "name it with --studio, or give --dose")
    asked = AskedRipening(
        bare, four("--middle", middle), numbers("--at", at), numbers("--dose", dose)
    )
    light = None
    if begun is not None and now.studio is not None:
        start, _ = moment("--begun", begun, now.studio.site.time_zone)
        light = red_light(now.studio, start, frame)
    habits = None if now.studio is None else now.studio.habits
    answer = judge_ripening_files(files, asked, habits, light)
    if not call.emitted(answer):
        _show(answer)


def _show(answer: RipeningSeen) -> None:
    out = console()
    out.print(answer.line, markup=False, style="bold", soft_wrap=True)
    for one in answer.looks:
        out.print(
            LOOK.format(
                file=one.file, dose=one.dose_kj_m2, shadows=one.shadows, middle=one.middle,
                lights=one.lights,
            ),
            markup=False,
        )  # fmt: skip
    if answer.ripe_dose_80 is not None:
        low, high = answer.ripe_dose_80
        chance = percent(answer.ripe_odds or 0.0, 1)
        said = DOSE.format(middle=answer.ripe_dose_kj_m2, low=low, high=high, chance=chance)
        out.print(said, markup=False)
    show_rest(answer)
