"""How much thiosulfate a gilding bath must hold for its gold."""

from __future__ import annotations

from argentry.errors import BadInput, check_range
from argentry.trade.chemistry.substances import (
    families,
    moles,
)
from argentry.trade.facts import value


def thiosulfate_per_gold(
    gold_g: float,
    thiosulfate_g: float,
    *,
    gold_salt: str = "HAuCl4.3H2O",
    thiosulfate: str = "Na2S2O3.5H2O",
) -> float:
    """Return moles of thiosulfate for each mole of gold in a gilding bath.

    Parameters
    ----------
    gold_g, thiosulfate_g : float
        Mass of the gold salt and of the thiosulfate. [g]
    gold_salt, thiosulfate : str
        Formulas of ``substances.toml``.

    Returns
    -------
    float
        [mol/mol]

    Raises
    ------
    BadInput
        If a salt is not known or a mass is not above zero.

    Examples
    --------
    >>> round(thiosulfate_per_gold(1.0, 4.0), 2)
    6.35
    """
    forms = {family.key: family.forms for family in families()}
    for where, salt, known in (
        ("gold salt", gold_salt, forms["gold"]),
        ("thiosulfate", thiosulfate, forms["thiosulfate"]),
    ):
        if salt not in known:
            right = "use one of {known}".format(known=", ".join(known))
            raise BadInput(where, "{salt!r} is not known".format(salt=salt[:40]), right)
    check_range("gold salt", gold_g, 0.0, 1000.0, "g", open_low=True)
    check_range("thiosulfate", thiosulfate_g, 0.0, 10_000.0, "g", open_low=True)
    return moles(thiosulfate, thiosulfate_g) / moles(gold_salt, gold_g)


def check_gilding(gold_g: float, thiosulfate_g: float, **salts: str) -> tuple[float, str]:
    """Return the thiosulfate to gold ratio and a warning when it is close to the least.

    Parameters
    ----------
    gold_g, thiosulfate_g : float
        Masses of the salts. [g]
    **salts : str
        ``gold_salt`` and ``thiosulfate`` as in `thiosulfate_per_gold`.

    Returns
    -------
    tuple of (float, str)
        Ratio [mol/mol]; an empty string when it is ample.

    Raises
    ------
    BadInput
        If there is too little thiosulfate to take up the gold.
    """
    ratio = thiosulfate_per_gold(gold_g, thiosulfate_g, **salts)
    least, close = (value("recipes", f"thiosulfate_gold_{word}") for word in ("least", "close"))
    if ratio < least:
        raise BadInput(
            "gilding bath",
            "{ratio:.1f} thiosulfate for each gold is too lean and throws the gold down",
            "use at least {least:g} and better {close:g} for each, by number of molecules",
            ratio=ratio,
            least=least,
            close=close,
        )
    note = (
        "{ratio:.1f} thiosulfate for each gold is lean: published baths hold {close:g} or more."
    ).format(ratio=ratio, close=close)
    return ratio, note if ratio < close else ""
