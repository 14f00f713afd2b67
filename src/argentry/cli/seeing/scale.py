"""The command ``argentry judge scale``: a studio's own scale of coats, from a plate in bands."""

from __future__ import annotations

from pathlib import Path

import click

from argentry.cli.common import (
    console,
    writable,
)
from argentry.cli.planning.place import LearnedCall, of_studio
from argentry.cli.seeing.judge_options import KEEP_WITH, NO_PLATE, keep, show_rest
from argentry.errors import BadInput

BAND = "{one.thickness_nm:6.1f} nm   {one.red:.3f} {one.green:.3f} {one.blue:.3f}"


@click.command("scale")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option(
    "--ends", metavar="X1,Y1,X2,Y2", required=True,
    help="Middles of the first band and the last, in pixels.",
)  # fmt: skip
@click.option("--nm", metavar="NM,NM,...", help="The coat of each band in nanometres, in order.")
@click.option(
    "--seconds", metavar="S,S,...",
    help="In place of --nm: the seconds of each band over your iodine.",
)  # fmt: skip
@click.option("--bare", metavar="EDGE", help="Edge with the bare strip: left, right, top, bottom.")
@click.option("--light", metavar="LIGHT", help="As for 'judge coat': coats in it are read by it.")
@click.option("--phone", metavar="NAME", help="The phone, where the picture does not name it.")
@click.option("--to", metavar="FILE", help="Write the scale to this CSV, for 'judge coat --scale'.")
@KEEP_WITH
@click.option(
    "--so-it-is", is_flag=True,
    help="Confirm it: with --plate, coats by this phone in this light are read by it.",
)  # fmt: skip
@of_studio
def scale(
    call: LearnedCall,
    /,
    file: Path,
    ends: str,
    nm: str | None,
    seconds: str | None,
    bare: str | None,
    light: str | None,
    phone: str | None,
    to: str | None,
    label: str | None,
    *,
    so_it_is: bool,
) -> None:
    """Read your own scale of coats from a plate fumed in bands, 3 to 30 alike wide.

    Photograph it as you photograph coats: a white card in the mirror, a strip of bare silver in
    view. The scale holds for this phone under this lamp. Kept with its plate and confirmed, it is
    what the bench and 'judge coat' read such coats by.
    """
    from argentry.keeping.seeing.own_scale import COLUMNS, need_usable
    from argentry.keeping.seeing.picture import four, numbers
    from argentry.keeping.seeing.scale import AskedScale, judge_scale_file, scale_csv

    places = four("--ends", ends)
    assert places is not None
    asked = AskedScale(
        places, numbers("--nm", nm), numbers("--seconds", seconds), bare, light, phone
    )
    if so_it_is and label is None:
        raise BadInput("--so-it-is", *NO_PLATE)
    target = writable("--to", to, ",".join(COLUMNS).encode())
    studio = call.now().studio if nm is None else None
    answer = judge_scale_file(file, asked, studio)
    if so_it_is:
        need_usable(answer)
    if target is not None:
        target.write_text(scale_csv(answer), encoding="utf-8")
    keep(call, label, file, answer, "scale", so_it_is=so_it_is)
    if call.emitted(answer):
        return
    console().print(answer.line, markup=False, style="bold")
    for one in answer.bands:
        console().print(BAND.format(one=one), markup=False)
    show_rest(answer)
