"""Stock in words: what is left, and for how many plates."""

from __future__ import annotations

from math import floor, log10
from typing import TYPE_CHECKING

from argentry.needs.materials.bath_life import few_left
from argentry.out.wording import count_range, counted, plates
from argentry.records.day import Range
from argentry.trade.stock import in_words, material_in, stuff_named

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.desk.pages.materials import MaterialsPage
    from argentry.keeping.stock.baths import BathNow
    from argentry.keeping.stock.cost import Cost
    from argentry.keeping.stock.lot_facts import LotNow
    from argentry.keeping.stock.lots import Stock
    from argentry.keeping.stock.orders import Needed, Needs
    from argentry.keeping.stock.waste import WasteKind
    from argentry.needs.materials.bath_life import BathLife
    from argentry.needs.materials.plate_wear import PlateWear

LOT = "Lot {lot.name}: {left} of {whole} left"
FOR_ONE, FOR = ", for {count} plate", ", for {count} plates"
WITHIN_ONE, WITHIN = "the next plate", "the next {plates}"
RUNS_OUT = "{name} runs out within {within}."
THEN = "{name} runs out within {within}; then there is {then}."
RENEW = "{bath.name}: renew it before the next plate. {why}"
SOON = "{bath.name}: renew it soon. {why}"
WORN = (
    "{plate} is worn: {left:.1f} µm of silver are left, and one more repolish may leave less than "
    "{least:g} µm."
)
WORN_THIN = "{plate} is worn: {left:.1f} µm of silver are left, less than {least:g} µm."
THIN = (
    "{plate} is silvered thin: {left:.1f} µm bears a picture and no repolish, which may leave less "
    "than {least:g} µm."
)
THIN_NEW = (
    "Thin: {um:g} µm of silver bears a picture and no repolish. Once polished back, {plates} may "
    "have less than {least:g} µm and will be refused as worn."
)
VERDICTS = {"good": "Good.", "soon": "Renew soon.", "renew": "Renew before the next plate."}
LEFT, LEFT_BETWEEN = "{plates} more.", "{plates} more ({low:.0f}–{high:.0f})."
SILVER = "Silver in it: {silver}."
DAYS = "{days:.0f} days"
LACKS = "{title}: {there} left, {needed} needed {when}."
UNCOUNTED = "; {unit!r} is not a unit that measures it, so it counts for no plate"
TOMORROW, BEGIN = "{plates} tomorrow", "a first {plates}"
LASTS = "{title} lasts {days:.0f} more days at this pace."
FOUR_FIGURES = 1000.0
YEAR_DAYS, YEARS_FROM, MOST_YEARS = 365.25, 700.0, 10  # the pace of a month says no more
ORDER_NOW = "Order {amount} of {title} now: it takes {days:g} days to come."
EXPIRED = "The last day of {lot.name} was {lot.expires_on}: it counts for no plate."
NOTHING_LEFT = "Nothing is left of: {material}."
MADE = "{plates} from {one.first} to {one.last}, {one.good} of them good, {hours:.0f} h of work"
NO_PLATES = "No plate was made from {one.first} to {one.last}."
FAILED = "Plates lost or worth a study cost {money}."
SAVES = "One failure less in ten would save {each} on every good plate, {all} over these days."
NOT_PRICED = "No price is noted for {name}: argentry stock note {name!r} --price N"
NOT_PRICED_HERE = "No price is noted for {name}: note it above, under “Note more about a lot”."
ALL_PARTS = "all parts"


LARGER = {"mL": ("L", 1000.0), "mg": ("g", 1000.0), "cm": ("m", 100.0), "g": ("kg", 1000.0)}


def amount(value: float, unit: str) -> str:
    """Return an amount in two or three digits, in the larger unit when it is much.

    >>> amount(12345.0, "mL"), amount(0.4567, "g"), amount(1450.0, "mg")
    ('12.3 L', '0.457 g', '1.45 g')
    """
    larger, factor = LARGER.get(unit, (unit, 1.0))
    if value >= factor > 1.0:
        value, unit = value / factor, larger
    return in_words(value, unit)


def noted(value: float, unit: str) -> str:
    """Return an amount of a lot as it is noted, to four figures: no balance here knows more.

    >>> noted(0.9328, "g"), noted(5.0, "piece"), noted(0.882809, "g"), noted(12500.5, "mL")
    ('0.9328 g', '5 pieces', '0.8828 g', '12500 mL')
    """
    shown = float(f"{value:.4g}") if value < FOUR_FIGURES else round(value)
    return f"{shown:g} {unit}{'s' if unit == 'piece' and value != 1.0 else ''}"


def money(value: float | None, currency: str) -> str:
    """Return a sum in a currency; a dash when it is not known."""
    return "–" if value is None else f"{value:,.2f} {currency}".replace(",", "\u202f")


def money_between(
    value: float | None, ends: tuple[float | None, float | None], currency: str
) -> str:
    """Return a sum with its low and high end.

    >>> money_between(9.08, (4.18, 30.8), "EUR")
    '9.08 EUR (4.18–30.80)'
    """
    low, high = (money(end, "").strip() for end in ends)
    return f"{money(value, currency)} ({low}–{high})"


def whole_plates(number: float) -> int:
    """Return how many whole plates, told to two digits: more than that no stock is known to."""
    count = floor(number + 1e-9)  # adding decimals leaves 12.999999
    place: int = 10 ** max(0, len(str(count)) - 2)
    return count // place * place


def will_do(row: LotNow) -> str:
    """Return how many plates a lot will do: ``12 (3–33)``; a dash when it is not known."""
    if row.plates_left is None:
        return "–"
    assert row.plates_left_low is not None
    assert row.plates_left_high is not None
    ends = (row.plates_left_low, row.plates_left, row.plates_left_high)
    return count_range(Range(*(float(whole_plates(end)) for end in ends)))


def lot_line(row: LotNow) -> str:
    """Return a lot in a line: ``Lot Iodine: 88 g of 100 g left, for 11000 (2900–29000) plates``."""
    line = LOT.format(lot=row, left=noted(row.left, row.unit), whole=noted(row.amount, row.unit))
    if row.plates_left is not None:
        count = will_do(row)
        line += (FOR_ONE if count == "1" else FOR).format(count=count)
    stuff = stuff_named(row.name)
    if stuff is not None and material_in(stuff, 1.0, row.unit) is None:
        line += UNCOUNTED.format(unit=row.unit)
    return line


def for_tomorrow(needs: Needs) -> str:
    """Return the plates of the next day in words: supposed while no day is in the book."""
    words = BEGIN if needs.supposed else TOMORROW
    return words.format(plates=plates(needs.tomorrow_plates))


def stock_notes(found: Stock) -> list[str]:
    """Return what to know of the whole stock: what runs out, what is used up."""
    within = (WITHIN_ONE if found.ahead == 1 else WITHIN).format(plates=plates(found.ahead))
    notes = [
        (THEN if row.then else RUNS_OUT).format(
            name=row.name, within=within, then=", ".join(row.then)
        )
        for row in found.lots
        if row.runs_out
    ]
    return notes + [NOTHING_LEFT.format(material=material) for material in found.used_up]


def tired_bath(bath: BathNow) -> str:
    """Return that a bath will not last, and why."""
    assert bath.life is not None
    words = RENEW if bath.life.verdict == "renew" else SOON
    return words.format(bath=bath, why=" ".join(bath.life.reasons))


def bath_lasts(bath: BathNow) -> str:
    """Return how long a bath lasts, and why; nothing of one in the maker's own words."""
    if bath.life is None:
        return ""
    life = bath.life
    few = None if life.plates_left is None else few_left(life.plates_left)
    reasons = [one for one in life.reasons if one != few]  # its plates are told with their range
    told = [VERDICTS[life.verdict], _left(life), *reasons, bath_silver(life)]
    return " ".join(one for one in told if one)


def _left(life: BathLife) -> str:
    """Return how many plates a bath is good for; nothing of one that is to be renewed."""
    ends = (life.plates_left_low, life.plates_left, life.plates_left_high)
    low, middle, high = (0 if one is None else round(one) for one in ends)
    if life.plates_left is None or life.verdict == "renew":
        return ""
    words = LEFT if low == high else LEFT_BETWEEN
    return words.format(plates=plates(middle), low=low, high=high)


def bath_silver(life: BathLife) -> str:
    """Return the silver that plates left in a bath, with its 80 % range; nothing where none is."""
    ends = (life.silver_low_mg, life.silver_mg, life.silver_high_mg)
    return SILVER.format(silver=with_ends(ends, "mg")) if life.silver_mg else ""


def waste_silver(kind: WasteKind) -> tuple[str, str]:
    """Return the silver that went into waste of one kind, and what it holds by the litre."""
    went_in = (kind.silver_low_mg, kind.silver_mg, kind.silver_high_mg)
    holds = (
        kind.kept_silver_low_mg_per_l, kind.kept_silver_mg_per_l, kind.kept_silver_high_mg_per_l,
    )  # fmt: skip
    return with_ends(went_in, "mg"), with_ends(holds, "mg/L")


def with_ends(ends: Sequence[float | None], unit: str) -> str:
    """Return low, middle and high of an amount to as many decimals; a dash where none is known.

    >>> with_ends((1.31, 1.5, 1.7), "mg"), with_ends((95.2, 104.0, 113.0), "mg/L")
    ('1.5 mg (1.3–1.7)', '104 mg/L (95–113)')
    """
    known = [one for one in ends if one is not None]
    if len(known) < 3 or not known[1]:
        return "–"
    # two digits of the middle and of how far the ends are from it
    digits = max(0, 1 - floor(log10(known[1])), -floor(log10(max(known[2] - known[0], 1e-9))))
    low, middle, high = (f"{one:.{min(digits, 6)}f}" for one in known)
    return f"{middle} {unit} ({low}–{high})"


def there(one: Needed) -> str:
    """Return what is there of a material; lots that are less than pure weigh more."""
    return f"{amount(one.there, one.unit)}{' pure' if one.pure else ''}"


def how_long(days: float | None) -> str:
    """Return how long a material lasts, as exactly as anyone wants to know it."""
    if days is None:
        return "–"
    if days < YEARS_FROM:
        return "{days:.0f} {unit}".format(days=days, unit="day" if round(days) == 1 else "days")
    years = days / YEAR_DAYS
    template = "{years:.0f} years" if years <= MOST_YEARS else "over {most} years"
    return template.format(years=years, most=MOST_YEARS)


def worn_plate(one: PlateWear, least_um: float) -> str:
    """Return what is wrong with a worn plate: silvered thin, too thin now, or soon."""
    left = one.left_um or 0.0
    worn = WORN if left >= least_um else WORN_THIN
    return (worn if one.repolishes else THIN).format(plate=one.plate, left=left, least=least_um)


def thin_plates(labels: Sequence[str], um: float) -> str:
    """Return what is said of plates that are noted with so much silver that they are thin."""
    from argentry.trade.facts import value

    return THIN_NEW.format(um=um, plates=", ".join(labels), least=value("plating", "silver_least"))


def material_notes(shown: MaterialsPage) -> list[str]:
    """Return what will not last this week: baths, worn plates, lots, what to order."""
    needs, stock = shown.needs, shown.stock
    notes = [tired_bath(bath) for bath in shown.tired]
    notes += [worn_plate(one, shown.least_um) for one in shown.worn]
    for one in needs.materials:
        if one.lacks_tomorrow:
            left, needed = there(one), amount(one.tomorrow, one.unit)
            title, when = one.title.capitalize(), "tomorrow"
            if needs.supposed:
                when = f"for {for_tomorrow(needs)}"
            notes.append(LACKS.format(title=title, there=left, needed=needed, when=when))
        elif one.will_not_last_week:
            notes.append(LASTS.format(title=one.title.capitalize(), days=one.days_left))
        if one.order_now:
            wanted = amount(one.order, one.unit)
            notes.append(ORDER_NOW.format(amount=wanted, title=one.title, days=one.lead_days))
    notes += [EXPIRED.format(lot=lot) for lot in stock.lots if lot.expired and lot.left > 0.0]
    return notes


def cost_head(one: Cost) -> str:
    """Return the days of a cost, and how many plates were made in them."""
    if not one.plates:
        return NO_PLATES.format(one=one)
    return MADE.format(one=one, plates=counted(one.plates, "plate"), hours=one.hours)


def part_rows(one: Cost) -> list[tuple[str, ...]]:
    """Return what each part cost, and the sum: part, all, per plate, per good plate, basis.

    None where nothing was made and nothing cost: then there is no more to tell than that.
    """
    if not one.plates and not one.total:
        return []
    rows = [
        (part.part, part.total, part.per_plate, part.per_good, part.basis) for part in one.parts
    ]
    rows.append((ALL_PARTS, one.total, one.per_plate, one.per_good, ""))
    return [
        (part, *(money(amount, one.currency) for amount in amounts), basis)
        for part, *amounts, basis in rows
    ]


def grade_rows(one: Cost) -> list[tuple[str, ...]]:
    """Return what plates of each grade cost: grade, plates, per plate, all."""
    return [
        (
            grade.grade,
            str(grade.plates),
            money(grade.per_plate, one.currency),
            money(grade.total, one.currency),
        )
        for grade in one.grades
    ]


def cost_lines(one: Cost, not_priced: str) -> list[str]:
    """Return what failures cost, what one less would save, what has no price, and the notes.

    Parameters
    ----------
    one : Cost
        What plates cost.
    not_priced : str
        How a lot without a price is told where it can be noted: `NOT_PRICED` or its like.
    """
    lines = []
    if one.grades:
        lines.append(FAILED.format(money=money(one.failures, one.currency)))
    if one.one_less_saves_per_good is not None:
        each = (one.one_less_saves_per_good_low, one.one_less_saves_per_good_high)
        every = (one.one_less_saves_low, one.one_less_saves_high)
        lines.append(
            SAVES.format(
                each=money_between(one.one_less_saves_per_good, each, one.currency),
                all=money_between(one.one_less_saves, every, one.currency),
            )
        )
    lines += [not_priced.format(name=name) for name in one.not_priced]
    return [*lines, *one.notes]
