"""``argentry safety``: what materials can do, what is in the room, what the day asks to be worn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, console, emitted, json_option, of_book, said_basis

if TYPE_CHECKING:
    from argentry.keeping.stock.safety import MaterialSafety

FIRST = (("eyes", "Eyes"), ("skin", "Skin"), ("breathed", "Breathed"), ("swallowed", "Swallowed"))
NOTHING = "Nothing is in stock. Note what comes in: argentry stock new NAME AMOUNT UNIT"
NEVER = "Never with {one.what}: {one.why}."
APART = "Keep apart: {one.one} and {one.other}: {one.why}."
NOT_KNOWN = "Not known here, so read its safety data sheet: {name}"
SOURCE = "Source ({basis}): {one.source}."
CLASSES = "{signal}; pictograms {pictograms}"
NO_CLASS = "Not classified by the GHS"


@click.group()
def safety() -> None:
    """Safety of materials: show one, the card for the room, what a day asks to be worn."""


@safety.command("show")
@click.argument("name")
@json_option
def show(name: str, as_json: bool) -> None:
    """Show what a material can do, what to do first, and what it must never meet."""
    from argentry.keeping.stock.safety import material_safety

    found = material_safety(name)
    if emitted(found, as_json):
        return
    _say(found)
    console().print(SOURCE.format(one=found, basis=said_basis(found.basis)), markup=False)
    console().print(found.note, markup=False)


def _say(one: MaterialSafety) -> None:
    out = console()
    number = f" ({one.number})" if one.number else ""
    out.print(f"{one.title}{number}", style="bold", markup=False)
    signal = CLASSES.format(signal=one.signal, pictograms=", ".join(one.pictograms))
    out.print(signal if one.signal else NO_CLASS, markup=False)
    for each in one.statements:
        out.print(f"  {each.code}: {each.text}", markup=False)
    for field, words in FIRST:
        out.print(f"{words}: {getattr(one, field)}", markup=False)
    out.print("Spilt: {one.spill}".format(one=one), markup=False)
    out.print("Store: {one.store}".format(one=one), markup=False)
    for never in one.never_with:
        out.print(NEVER.format(one=never), markup=False)


@safety.command("room")
@of_book
def room(call: BookCall) -> None:
    """Show the safety of what is really in stock; its card is printed by argentry label room."""
    from argentry.keeping.stock.safety import room_safety

    found = room_safety(call.folder, call.address)
    if call.emitted(found):
        return
    out = console()
    if not found.materials and not found.not_known:
        out.print(NOTHING, markup=False)
        return
    for one in found.materials:
        _say(one)
        out.print()
    for pair in found.apart:
        out.print(APART.format(one=pair), markup=False)
    for name in found.not_known:
        out.print(NOT_KNOWN.format(name=name), markup=False)
    out.print(found.note, markup=False)


@safety.command("day")
@json_option
def day(as_json: bool) -> None:
    """Show the protective equipment of a day by its steps."""
    from argentry.keeping.stock.safety import day_equipment

    found = day_equipment()
    if emitted(found, as_json):
        return
    from rich.markup import escape

    from argentry.out.learning.words import plain_table

    table = plain_table("Step", "Wear or have ready")
    for step in found.steps:
        table.add_row(escape(step.step), escape(", ".join(step.wear)))
    console().print(table)
    console().print(found.note, markup=False)
