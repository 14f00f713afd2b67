"""Solutions for a studio's plates: its usual size, its room, its own recipes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from argentry.errors import BadInput
from argentry.needs.materials.mixing import Mixing, mixing, read_instead
from argentry.trade.recipes import Recipe, read_recipe, recipes

OWN_FILE = "recipes.toml"
FORM = "write [[recipe]] tables as docs/trade.md shows the baths"
NO_SALT, NAME_SALT = "no salt is named that is so pure", "add --instead Na2S2O3.5H2O=Na2S2O3.5H2O"
SHIPPED = "its key is one of the shipped recipes"


def mix_for(
    folder: Path | None,
    keys: Sequence[str],
    plates: int,
    sizes: Sequence[str],
    file: Path | None = None,
    *,
    instead: Sequence[str] = (),
    **how: Any,
) -> Mixing:
    """Return the solutions for some plates of a studio.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    keys : sequence of str
        Recipes; none: the usual ones.
    plates : int
        How many of each size that names no number itself.
    sizes : sequence of str
        ``"quarter"`` or ``"quarter=2"``; none: the studio's usual size.
    file : Path, optional
        The maker's own recipes; None: ``recipes.toml`` in the studio folder, when it is there.
    instead : sequence of str
        ``"Na2S2O3.5H2O=Na2S2O3"``.
    **how
        As `argentry.needs.materials.mixing.mixing`.

    Raises
    ------
    BadInput
        If something cannot be read or used.
    """
    from argentry.keeping.plates.plates import usual_size

    counts: dict[str, int] = {}
    for text in sizes or [usual_size(folder)]:
        name, equals, number = text.partition("=")
        if equals and not number.strip().isdecimal():
            raise BadInput(
                "--size", "{text!r} has no number of plates", "write it as quarter=2",
                text=text,
            )  # fmt: skip
        count = int(number[:6]) if equals else plates
        counts[name.strip()] = counts.get(name.strip(), 0) + count
    if how.get("purity", 1.0) != 1.0 and not instead:
        raise BadInput("--purity", NO_SALT, NAME_SALT)
    own = own_recipes(folder, file)
    return mixing(counts, keys, instead=read_instead(instead), own=own, **how)


def own_recipes(folder: Path | None, file: Path | None = None) -> tuple[Recipe, ...]:
    """Return the maker's own recipes, checked like the shipped ones.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    file : Path, optional
        In place of the folder's own file.

    Raises
    ------
    BadInput
        If the file cannot be read, or a recipe fails a check; the sentence says which and where.
    """
    from argentry.files import TOML_BYTES, read_file, toml_of

    if file is None:
        if folder is None or not (folder / OWN_FILE).is_file():
            return ()
        file = folder / OWN_FILE
    rows = toml_of(file.name, read_file(file, TOML_BYTES, FORM)).get("recipe")
    if not isinstance(rows, list) or not rows:
        raise BadInput(file.name, "it holds no recipe", FORM)
    shipped = {one.key for one in recipes()}
    found: list[Recipe] = []
    for number, row in enumerate(rows, 1):
        where = "{name}, recipe {number}".format(name=file.name, number=number)
        bath = read_recipe(where, row)
        if bath.key in shipped | {one.key for one in found}:
            raise BadInput(where, SHIPPED, "give it a key of its own")
        found.append(bath)
    return tuple(found)
