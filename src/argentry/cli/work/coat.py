"""``argentry coat``: the colour of a coat from its thickness, and back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from argentry.cli.common import console, emitted, json_option, studio_option, studio_path, table
from argentry.cli.planning.place import WINDOW_HELP
from argentry.errors import BadInput
from argentry.keeping.studio import load_studio

if TYPE_CHECKING:
    from collections.abc import Iterable

    from argentry.needs.coat import Candidates, CoatReport, Seen
    from argentry.needs.coat_fit import LossyLayer
    from argentry.needs.coat_view import View
    from argentry.records.studio import Studio

CYCLES = {0: "", 1: "first cycle", 2: "second cycle", 3: "third cycle"}
COAT = "{r.thickness_nm:.1f} nm (model ±{r.thickness_doubt_nm:.0f} nm)"
TAKEN_UP = "{percent:z.0f} % of daylight 360–500 nm"
SPEED = "{speed:.2f} × the first gold (exposure × {exposure:.2g})"
NO_SPEED = "none: there is no coat to speak of"
STRAIGHT_ON, TILTED = "straight on", "{angle:g}° from straight on"
MEASURED = "L* a* b*  {lab}  (±{noise:g} each), {view}"
STEPS = "{r.steps} steps"
USE_IT = """To use it, write this into studio.toml under \\[habits]:
  interlayer_nm = {r.interlayer_nm:.1f}
  interlayer_silver = {r.interlayer_silver:.2f}
  interlayer_growth_nm = {r.interlayer_growth_nm:.1f}"""
SCREEN_HELP = "Spectrum of a filter before the light: two columns, nm and transmission."
LIGHTS = {"D65": "daylight (D65)", "A": "tungsten light (A)", "LED": "white LED light (B3)"}


@click.command()
@click.option("--nm", type=float, help="Thickness of the coat in nanometres, 0 to 250.")
@click.option("--lab", metavar="L,a,b", help="A colour measured next to a white card.")
@click.option("--colour", metavar="WORD", help="A makers' word: straw, gold, rose, blue, ...")
@click.option(
    "--fit",
    "plate",
    metavar="FILE",
    help="CSV of a stepped fume plate: thickness_nm (or seconds),L,a,b. Finds your lossy layer.",
)
@click.option("--cycle", type=int, help="Which passage through the colours: 1, 2 or 3.")
@click.option(
    "--illuminant",
    default="D65",
    show_default=True,
    metavar="D65|A|LED|FILE",
    help="Light: daylight, tungsten, white LED, a generic lamp, or a file: nm and power.",
)
@click.option("--window", metavar="FILE", help=WINDOW_HELP)
@click.option("--filter", "screen", metavar="FILE", help=SCREEN_HELP)
@click.option(
    "--angle", type=float, default=0.0, show_default=True, help="Degrees from straight on, 0 to 80."
)
@click.option(
    "--interlayer-nm", type=float, help="Full thickness of the lossy layer in nanometres."
)
@click.option("--interlayer-silver", type=float, help="Share of silver in the lossy layer, 0 to 1.")
@click.option(
    "--interlayer-growth-nm",
    type=float,
    help="Coat over which the lossy layer comes to 63 % of its thickness, in nanometres.",
)
@click.option("--noise", type=float, help="Doubt of each of L, a, b (one standard deviation).")
@click.option(
    "--expect", metavar="NM,SD", help="Thickness expected from the fuming time, and its doubt."
)
@studio_option
@json_option
@click.pass_context
def coat(
    ctx: click.Context,
    nm: float | None,
    lab: str | None,
    colour: str | None,
    plate: str | None,
    cycle: int | None,
    illuminant: str,
    window: str | None,
    screen: str | None,
    angle: float,
    interlayer_nm: float | None,
    interlayer_silver: float | None,
    interlayer_growth_nm: float | None,
    noise: float | None,
    expect: str | None,
    as_json: bool,
) -> None:
    """Show the colour and speed of a coat from its thickness or word, or the coat of a colour.

    Give one of --nm, --lab, --colour or --fit; with a studio and none of them, the studio's own
    coat is shown.
    """
    asked = {"--nm": nm, "--lab": lab, "--colour": colour, "--fit": plate}
    given = [name for name, value in asked.items() if value is not None]
    if len(given) > 1:
        raise BadInput("coat", "{given} were given", "give one of them", given=" and ".join(given))
    layer = {
        "interlayer_nm": interlayer_nm,
        "interlayer_silver": interlayer_silver,
        "interlayer_growth_nm": interlayer_growth_nm,
    }
    _refuse_idle(given[0] if given else "--nm", cycle=cycle, noise=noise, expect=expect, **layer)

    from argentry.needs.coat_view import look

    studio = _studio(ctx)
    if not given:
        if studio is None:
            raise BadInput(
                "coat",
                "no coat was named and there is no studio",
                "give --nm, --lab, --colour or --fit",
            )
        nm = studio.habits.coat_nm
    view = look(
        studio,
        illuminant=illuminant,
        window=window,
        screen=screen,
        angle_deg=angle,
        **layer,
    )
    result, show = _answer(nm, lab, colour, plate, cycle, noise, expect, view)
    if not emitted(result, as_json):
        show(result)


def _answer(
    nm: float | None,
    lab: str | None,
    colour: str | None,
    plate: str | None,
    cycle: int | None,
    noise: float | None,
    expect: str | None,
    view: View,
) -> tuple[Seen | LossyLayer, Any]:
    from argentry.needs import coat as desk

    if lab is not None:
        first, second, third = _numbers("--lab", lab, 3, "L,a,b, for example 73,6.5,28.7")
        expected = None
        if expect is not None:
            mean, doubt = _numbers("--expect", expect, 2, "NM,SD, for example 45,8")
            expected = (mean, doubt)
        found = desk.coat_candidates(
            (first, second, third), view, noise=noise, cycle=cycle, expected_nm=expected
        )
        return found, _show_candidates
    if plate is not None:
        from argentry.needs.coat_fit import fit_stepped_plate

        return fit_stepped_plate(Path(plate), view), _show_fit
    if colour is not None:
        return desk.coat_for_word(colour, cycle, view), _show_report
    assert nm is not None
    return desk.coat_report(nm, view), _show_report


def _studio(ctx: click.Context) -> Studio | None:
    path = studio_path(ctx)
    if path is None:
        return None
    return load_studio(path)


# With what each of these options changes the answer.
USED_WITH = {
    "cycle": ("--lab", "--colour"),
    "noise": ("--lab",),
    "expect": ("--lab",),
    "interlayer_nm": ("--nm", "--lab", "--colour"),
    "interlayer_silver": ("--nm", "--lab", "--colour"),
    "interlayer_growth_nm": ("--nm", "--lab", "--colour"),
}


def _refuse_idle(asked: str, **options: object) -> None:
    """Refuse an option that would do nothing beside what was asked."""
    for name, value in options.items():
        if value is not None and asked not in USED_WITH[name]:
            right = "use it with {used_with}".format(used_with=" or ".join(USED_WITH[name]))
            raise BadInput(
                f"--{name.replace('_', '-')}",
                "it changes nothing with {asked}".format(asked=asked),
                right,
            )


def _numbers(where: str, text: str, count: int, form: str) -> list[float]:
    try:
        numbers = [float(cell) for cell in text.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) != count:
        raise BadInput(
            where,
            "{text!r} is not {count} numbers",
            "write {form}",
            text=text,
            count=count,
            form=form,
        )
    return numbers


def _swatch(srgb: str) -> Any:
    from rich.text import Text

    return Text("        ", style=f"on {srgb}")


def _named(word: str, cycle: int) -> str:
    return f"{word}, {CYCLES[cycle]}" if CYCLES[cycle] else word


def _view_words(result: Seen) -> str:
    angle = result.angle_deg
    tilt = STRAIGHT_ON if angle == 0 else TILTED.format(angle=angle)
    light = LIGHTS.get(result.illuminant, result.illuminant)
    return f"{light}, {tilt}"


def _show_report(result: CoatReport) -> None:
    screen = console()
    rows = table()
    low, high = result.colour_range_nm
    lab = "  ".join(f"{value:.1f}" for value in result.lab)
    rows.add_row("coat", COAT.format(r=result))
    rows.add_row("colour", f"{_named(result.colour, result.cycle)} ({low:g}–{high:g} nm)")
    rows.add_row(result.srgb, _swatch(result.srgb))
    rows.add_row("seen in", _view_words(result))
    rows.add_row("L* a* b*", lab)
    rows.add_row("violet taken up", TAKEN_UP.format(percent=100 * result.coat_share))
    rows.add_row("speed", _speed_words(result.relative_speed))
    screen.print(rows)
    _show_notes(screen, (*result.notes, *result.cautions))


def _speed_words(speed: float) -> str:
    if speed < 0.02:
        return NO_SPEED
    return SPEED.format(speed=speed, exposure=1 / speed)


def _show_candidates(result: Candidates) -> None:
    screen = console()
    rows = table("", "coat", "80 % range", "colour", "likelihood", "off by ΔE")
    for one in result.candidates:
        low, high = one.range_80_nm
        rows.add_row(
            _swatch(one.srgb),
            f"{one.thickness_nm:.1f} nm",
            f"{low:.0f}–{high:.0f} nm",
            _named(one.colour, one.cycle),
            _percent(one.weight),
            f"{one.delta_e:.1f}",
        )
    lab = "  ".join(f"{value:g}" for value in result.lab)
    screen.print(MEASURED.format(lab=lab, noise=result.noise, view=_view_words(result)))
    screen.print(rows)
    _show_notes(screen, (*result.notes, *result.cautions))


def _percent(share: float) -> str:
    if share < 0.01:
        return "<1 %"
    return ">99 %" if share > 0.99 else f"{100 * share:.0f} %"


def _show_fit(result: LossyLayer) -> None:
    screen = console()
    rows = table("your lossy layer", "value", "± one sd")
    rows.add_row("thickness", f"{result.interlayer_nm:.1f} nm", f"{result.interlayer_nm_sd:.1f} nm")
    rows.add_row(
        "share of silver",
        f"{result.interlayer_silver:.2f}",
        f"{result.interlayer_silver_sd:.2f}",
    )
    rows.add_row(
        "grown over (63 %)",
        f"{result.interlayer_growth_nm:.0f} nm",
        f"{result.interlayer_growth_nm_sd:.0f} nm",
    )
    if result.nm_per_second is not None:
        rows.add_row(
            "coat",
            f"{result.nm_per_second:.2f} nm/s",
            f"{result.nm_per_second_sd:.1g} nm/s",
        )
    rows.add_row("left over, rms", f"{result.rms:.1f}", STEPS.format(r=result))
    screen.print(rows)
    screen.print(USE_IT.format(r=result))
    _show_notes(screen, result.notes)


def _show_notes(screen: Any, notes: Iterable[str]) -> None:
    for note in notes:
        screen.print(f"· {note}")
