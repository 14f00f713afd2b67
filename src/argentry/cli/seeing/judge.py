"""``argentry judge``: what photographs say of a coat, a step wedge, a plate, its change."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from argentry.cli.common import (
    CELSIUS,
    BookCall,
    console,
    of_book,
    writable,
)
from argentry.cli.planning.place import LearnedCall, of_studio
from argentry.cli.seeing.judge_options import (
    AT,
    CURVE,
    GREY,
    GREY_DENSITIES,
    KEEP_WITH,
    MARKED_EDGES,
    NO_PLATE,
    asked_plate,
    how_taken,
    keep,
    show_rest,
)
from argentry.cli.seeing.judge_survey import survey
from argentry.cli.seeing.ripening import ripening
from argentry.cli.seeing.scale import scale
from argentry.errors import BadInput
from argentry.needs.doubt.percent import percent
from argentry.records.answers.coat_seen import CoatSeen
from argentry.records.answers.wedge_seen import WedgeSeen

RANGE = "{low:.0f} to {high:.0f} nm four times in five"
MAP_HEAD = "Thickness in nm, as the picture stands upright; a dot where it is bare or covered:"
WEDGE_HEAD = "Log exposure, density above the veil and its doubt, a middle tone with that light:"
WEDGE_ROW = "{at:>6.2f} {density:>6.2f} ±{doubt:.2f}  {verdict}"
FINDING = "{key}: {words}, {chance} likely"
AREA = "{words} at {x:.0f},{y:.0f}, {wide:.0f} px across, colour difference {delta_e:.1f}"
EDGE = "Edge {x1:.0f},{y1:.0f} to {x2:.0f},{y2:.0f}: {said}"
EDGE_WIDTH = "drawn {px:.1f} px wide"
ORDER_HEAD = "Which field is thicker, 0 to 9; a dot where it is not seen:"


@click.group()
def judge() -> None:
    """Say what a photograph shows. Nothing is learned from it until you say that it is so."""


judge.add_command(survey)
judge.add_command(ripening)
judge.add_command(scale)


@judge.command("coat")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option(
    "--light",
    metavar="LIGHT",
    help="tungsten, led, window, overcast or red; or a file with your lamp's spectrum, in two "
    "columns: nm and power.",
)
@click.option("--bare", metavar="EDGE", help="Edge with the bare strip: left, right, top, bottom.")
@click.option(
    "--card", metavar="X,Y,W,H",
    help="A part of the white card beside the plate, in pixels: compared with where no strip is "
    "bare; the light must be named.",
)  # fmt: skip
@click.option(
    "--scale", metavar="FILE",
    help="Your own scale for this phone under this lamp, as 'judge scale' wrote it.",
)  # fmt: skip
@click.option("--phone", metavar="NAME", help="The phone, where the picture does not name it.")
@click.option("--seconds", type=float, help="Seconds over iodine so far.")
@click.option("--box-temp", "box_c", type=CELSIUS, help="Crystals' temperature, °C.")
@click.option("--expect", metavar="NM,SD", help="Thickness expected in nanometres, and its doubt.")
@click.option(
    "--angle",
    "angle_deg",
    type=float,
    default=0.0,
    show_default=True,
    help="Degrees from straight on, 0 to 80.",
)
@click.option("--interlayer-nm", type=float, help="Full thickness of the lossy layer.")
@click.option("--interlayer-silver", type=float, help="Share of silver in the lossy layer, 0 to 1.")
@click.option("--lux", type=float, help="Light on the plate during the look, in lux.")
@click.option("--open", "open_s", type=float, help="Seconds the plate lay open to it.")
@AT
@KEEP_WITH
@of_studio
def coat(
    call: LearnedCall,
    /,
    file: Path,
    label: str | None,
    **given: Any,
) -> None:
    """Say how thick the coat in a picture is, how even, and how many seconds more it needs.

    Tip the plate so that it mirrors a white card all over, with a strip of bare silver along one
    edge in view. Without strip and card, and by red light, no thickness is told, only which part
    is thicker.
    """
    from argentry.keeping.seeing.coat import AskedCoat, judge_coat_file
    from argentry.keeping.seeing.own_scale import scales_of_studio
    from argentry.keeping.seeing.picture import four, two
    from argentry.keeping.seeing.scale import read_scale

    now = call.now()
    marked = {"expect": _pair(given["expect"]), "card": four("--card", given["card"])}
    marked["at"] = two("--at", given["at"])
    own = None if given["scale"] is None else read_scale(Path(given["scale"]))
    kept = scales_of_studio(call.folder, call.address) if own is None else ()
    asked = AskedCoat(**{**given, **marked, "scale": own, "own": kept})
    answer = judge_coat_file(file, asked, now)
    keep(call, label, file, answer, "coat")
    if not call.emitted(answer):
        _show(answer)


@judge.command("wedge")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--steps", type=int, default=21, show_default=True, help="How many steps it has.")
@click.option(
    "--increment", type=float, default=0.15, show_default=True, help="Density from step to step."
)
@click.option(
    "--first", metavar="LOGH", type=float, default=0.0, show_default=True,
    help="Log exposure of the step with most light, against the light of the plate's exposure.",
)  # fmt: skip
@click.option(
    "--ends", metavar="X1,Y1,X2,Y2", help="Middles of its two end steps in pixels, left to right."
)
@click.option(
    "--brightest", metavar="END", default="left", show_default=True,
    help="The end that had most light: left or right.",
)  # fmt: skip
@GREY
@GREY_DENSITIES
@click.option(
    "--curve-to",
    metavar="FILE",
    help="Write the plate's curve to this CSV, for 'judge plate --curve'.",
)
@KEEP_WITH
@click.option(
    "--so-it-is", is_flag=True, help="Confirm it: with --plate, speed is learned from its steps."
)
@of_book
def wedge(
    call: BookCall,
    file: Path,
    ends: str | None,
    grey: str | None,
    grey_densities: str | None,
    curve_to: str | None,
    label: str | None,
    *,
    so_it_is: bool,
    **given: Any,
) -> None:
    """Say how fast a plate is, how steep and where it solarises, from a step wedge on it.

    Photograph the plate and a grey scale together, lit from the side, a black cloth where the
    mirror looks. Nothing is learned from it until you confirm it.
    """
    from argentry.keeping.seeing.curve import COLUMNS, curve_csv
    from argentry.keeping.seeing.picture import four, numbers
    from argentry.keeping.seeing.wedge import AskedWedge, judge_wedge_file

    asked = AskedWedge(
        ends=four("--ends", ends),
        grey=four("--grey", grey),
        grey_densities=numbers("--grey-densities", grey_densities),
        **given,
    )
    if so_it_is and label is None:
        raise BadInput("--so-it-is", *NO_PLATE)
    target = writable("--curve-to", curve_to, ",".join(COLUMNS).encode())
    answer = judge_wedge_file(file, asked)
    if target is not None:
        target.write_text(curve_csv(answer), encoding="utf-8")
    keep(call, label, file, answer, "wedge", so_it_is=so_it_is)
    if not call.emitted(answer):
        _show_wedge(answer)


@judge.command("plate")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@how_taken
@MARKED_EDGES
@CURVE
@AT
@KEEP_WITH
@of_book
def plate(call: BookCall, file: Path, label: str | None, **given: Any) -> None:
    """Say what may be wrong with a finished plate: fog, blue lights, tarnish, spots, blur.

    The plate lies on a dark cloth, lit from the side, with black where the mirror looks. You
    confirm or strike out each finding on the plate's page; nothing is graded by itself.
    """
    from argentry.keeping.seeing.plate import judge_plate_file

    given["size"] = _size(call, given["size"], label)
    answer = judge_plate_file(file, asked_plate(**given))
    keep(call, label, file, answer, "plate")
    if call.emitted(answer):
        return
    out = console()
    out.print(answer.line, markup=False, style="bold", soft_wrap=True)
    for one in answer.defects:
        chance = percent(one.odds, 1)
        out.print(FINDING.format(key=one.key, words=one.words, chance=chance), markup=False)
    for edge in answer.blur.edges if answer.blur is not None else ():
        (x1, y1), (x2, y2) = edge.from_px, edge.to_px
        said = edge.why or EDGE_WIDTH.format(px=edge.width_px)
        out.print(EDGE.format(x1=x1, y1=y1, x2=x2, y2=y2, said=said), markup=False)
    show_rest(answer)


@judge.command("change")
@click.argument("before", metavar="BEFORE", type=click.Path(path_type=Path))
@click.argument("after", metavar="AFTER", type=click.Path(path_type=Path))
@click.option("--size", help="The plate's size, for example quarter.")
@GREY
@click.option(
    "--grey-after", metavar="X1,Y1,X2,Y2", help="The same in the picture AFTER.",
)  # fmt: skip
@GREY_DENSITIES
@click.option(
    "--same-light", is_flag=True,
    help="Light, exposure and white balance are the same in both; no grey scale is needed then.",
)  # fmt: skip
@KEEP_WITH
@of_book
def change(
    call: BookCall,
    before: Path,
    after: Path,
    size: str | None,
    grey: str | None,
    grey_after: str | None,
    grey_densities: str | None,
    label: str | None,
    *,
    same_light: bool,
) -> None:
    """Say what has changed on a plate between two pictures: all of it, areas, both, or nothing.

    For example before and after gilding, or years apart. The pictures are laid over each other by
    the plate's details, so they need be neither of one size nor the same way up.
    """
    from argentry.keeping.seeing.change import AskedChange, judge_change_files
    from argentry.keeping.seeing.picture import four, numbers

    asked = AskedChange(
        _size(call, size, label), four("--grey", grey), four("--grey-after", grey_after),
        numbers("--grey-densities", grey_densities), same_light,
    )  # fmt: skip
    answer = judge_change_files(before, after, asked)
    keep(call, label, before, answer, "change", second=after)
    if call.emitted(answer):
        return
    out = console()
    out.print(answer.line, markup=False, style="bold", soft_wrap=True)
    for one in answer.areas:
        x, y = one.px
        said = AREA.format(words=one.words, x=x, y=y, wide=one.diameter_px, delta_e=one.delta_e)
        out.print(said, markup=False)
    show_rest(answer)


def _size(call: BookCall, size: str | None, label: str | None) -> str | None:
    """Return the size of the plate in the picture: as named, else as the book has it."""
    if size is not None or label is None:
        return size
    from argentry.keeping.seeing.kept import size_of

    return size_of(call.folder, label, call.address)


def _show_wedge(answer: WedgeSeen) -> None:
    out = console()
    out.print(answer.line, markup=False, style="bold", soft_wrap=True)
    verdicts = [one.verdict for one in answer.strips] or [""] * len(answer.steps)
    if answer.steps:
        out.print(WEDGE_HEAD, markup=False, soft_wrap=True)
    for step, verdict in zip(answer.steps, verdicts, strict=True):
        out.print(
            WEDGE_ROW.format(
                at=step.log_exposure, density=step.density, doubt=step.doubt, verdict=verdict
            ),
            markup=False,
        )
    show_rest(answer)


def _pair(text: object) -> tuple[float, float] | None:
    if text is None:
        return None
    try:
        first, second = (float(part) for part in str(text).split(","))
    except ValueError:
        raise BadInput("--expect", "it must be two numbers", "write it as 24,5") from None
    return first, second


def _show(answer: CoatSeen) -> None:
    out = console()
    out.print(answer.line, markup=False, style="bold")
    if answer.range_80_nm is not None:
        low, high = answer.range_80_nm
        out.print(RANGE.format(low=low, high=high), markup=False)
    if answer.map is not None:
        out.print(MAP_HEAD, markup=False)
        for row in answer.map.thickness_nm:
            out.print(
                "".join(f"{'.' if one is None else round(one):>4}" for one in row), markup=False
            )
    elif answer.order is not None:
        out.print(ORDER_HEAD, markup=False)
        for ranks in answer.order:
            out.print(
                "".join("." if one is None else str(min(9, int(10 * one))) for one in ranks),
                markup=False,
            )
    show_rest(answer)
