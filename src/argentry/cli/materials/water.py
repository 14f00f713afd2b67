"""``argentry water``: what a reading of water means for each use."""

from __future__ import annotations

import click

from argentry.cli.common import CELSIUS, console, emitted, json_option, say, used_with

SERVES = "{mark} {use.title}{why}"
YES, NO = "serves:", "does not serve:"
RING = "A drop that dries leaves a ring of about {ring:.0f} nm{seen}."
SEEN, UNSEEN = ", which shows as a spot", ", too thin to show"
FILM = "A draining film leaves {film:.2f} µg/cm²."
CHLORIDE = "Its chloride could turn {nm:.1f} nm of the surface into silver chloride."
LAST = "The last rinse should read {us:g} µS/cm or less as it comes off the plate."
TREATED = "If {t.treatment}: {read}; serves {serves}. {t.note}"
READS = "{us:.3g} µS/cm"
NOTHING, EVERY = "none of the uses here", "every use here"


@click.command()
@click.option("--us-cm", "conductivity_us_cm", type=float, help="Conductivity, µS/cm.")
@click.option("--temp", "temperature_c", type=CELSIUS, help="Water, °C, if the meter needs it.")
@click.option("--tds", "solids", type=float, help="Dissolved solids, mg/L.")
@click.option("--chloride", type=float, help="mg/L.")
@click.option("--hardness", type=float, help="Hardness, in --hardness-unit.")
@click.option("--hardness-unit", default="mg/L", show_default=True, help="mg/L, dH, fH, eH, gpg.")
@click.option("--ph", type=float, help="1 to 14.")
@click.option("--drop-ul", type=float, help="One drop, µL.")
@json_option
def water(*, as_json: bool, **given: float | str | None) -> None:
    """Show what a reading of water means for each use, and what treating it changes."""
    from argentry.needs.materials.water import water as read

    used_with({"hardness_unit": ("hardness",)})
    answer = read(**given)  # type: ignore[arg-type]
    if emitted(answer, as_json):
        return
    for use in answer.uses:
        why = f" ({'; '.join(use.why)})" if use.why else ""
        say(SERVES.format(mark=YES if use.serves else NO, use=use, why=why))
    if answer.ring_nm is not None and answer.film_ug_cm2 is not None:
        say(RING.format(ring=float(f"{answer.ring_nm:.2g}"), seen=SEEN if answer.spots else UNSEEN))
        say(FILM.format(film=answer.film_ug_cm2))
    if answer.silver_chloride_nm is not None:
        say(CHLORIDE.format(nm=answer.silver_chloride_nm))
    say(LAST.format(us=answer.last_rinse_us_cm))
    for one in answer.treated[1:]:
        us = one.conductivity_us_cm
        read_as = "" if us is None else READS.format(us=us)
        titles = [use.title for use in answer.uses if use.use in one.serves]
        serves = EVERY if len(titles) == len(answer.uses) else "; ".join(titles) or NOTHING
        console().print(TREATED.format(t=one, read=read_as, serves=serves), markup=False)
    for note in answer.notes:
        say(note)
