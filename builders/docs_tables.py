"""Write docs/trade.md: every fact, table, step, caution, bath and refusal of the trade.

Run from anywhere: ``python builders/docs_tables.py``. A test proves that the committed page is what
this script writes, so that the page cannot go stale.
"""

from __future__ import annotations

from pathlib import Path

from argentry import trade
from argentry.trade.facts import BASES
from argentry.trade.recipes import recipes
from argentry.trade.refusals import refusals
from argentry.trade.steps import cautions, plate_sizes, steps

PAGE = Path(__file__).resolve().parents[1] / "docs" / "trade.md"
OWN_PLACE = {
    "cautions",
    "columns",
    "steps",
    "recipes",
    "refusals",
    "sizes",
}  # their lists have a place of their own

HEAD = """# The trade's facts

Written by `builders/docs_tables.py` from `src/argentry/trade`; do not edit by hand.

No number of the trade sits in the code. Each stands in a data file with its unit, the range in
which it is believed, how it is known, and where it was read. The kinds of knowledge:

"""


def cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}" if abs(value) < 1e5 else f"{value:.10g}"
    if isinstance(value, dict):
        return ", ".join(f"{key} {cell(one)}" for key, one in value.items())
    if isinstance(value, list):
        return "; ".join(cell(one) for one in value)
    return str(value).replace("|", "\\|").replace("\n", " ")


def table(head: list[str], rows: list[list[object]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    lines += ["| " + " | ".join(cell(v) for v in row) + " |" for row in rows]
    return "\n".join(lines) + "\n\n"


def span(low: float, high: float) -> str:
    return "exact" if low == high else f"{cell(float(low))} to {cell(float(high))}"


def fact_section(subject: str) -> str:
    out = ""
    rows = []
    for key, fact in sorted(trade.facts(subject).items()):
        source = fact.source + (f" *Note: {fact.note}*" if fact.note else "")
        value = f"{fact.value:.9g}" if isinstance(fact.value, float) else str(fact.value)
        rows.append([key, value, fact.unit, span(fact.low, fact.high), fact.basis, source])
    if rows:
        out += table(["fact", "value", "unit", "range", "basis", "source"], rows)
    if subject not in OWN_PLACE:
        out += words_and_lists(subject)
    return f"### {subject}\n\n{out}" if out else ""


def words_and_lists(subject: str) -> str:
    out = ""
    for name, entry in sorted(trade.toml(subject).items()):
        if isinstance(entry, list) and entry and all(isinstance(row, dict) for row in entry):
            keys = list(dict.fromkeys(key for row in entry for key in row))
            out += f"`{name}`:\n\n"
            out += table(keys, [[row.get(key, "") for key in keys] for row in entry])
        elif isinstance(entry, dict) and "value" not in entry:
            plain = {k: v for k, v in entry.items() if isinstance(v, str | int | float)}
            if plain:
                out += f"`{name}`: " + "; ".join(f"{k} = {cell(v)}" for k, v in plain.items())
                out += "\n\n"
    return out


def steps_section() -> str:
    rows = []
    for rule in steps():
        minutes = f"{rule.low_minutes:g}, {rule.typical_minutes:g}, {rule.high_minutes:g}"
        within = rule.start_within_minutes
        limit = "" if within is None else "at once" if within == 0 else f"{within:g} min"
        hands = "yes" if rule.attended else "no"
        rows.append(
            [
                *(rule.key, rule.title, rule.stage, minutes, rule.law),
                *(hands, rule.resource, limit, rule.gate),
            ]
        )
    head = ["step", "what the hands do", "stage", "minutes (low, typical, high)", "law"]
    out = table([*head, "hands", "holds", "start within", "checkpoint"], rows)
    for rule in steps():
        out += f"**{rule.title}** (`{rule.key}`, {rule.basis})\n\n"
        out += f"- Right: {rule.look_for}.\n- Goes wrong: {rule.goes_wrong}.\n"
        if rule.past_range:
            out += f"- Past its range: {rule.past_range}.\n"
        for check in rule.checks:
            at = "" if check.at_minutes is None else f" at {check.at_minutes:g} min"
            text = check.text.rstrip("?")
            out += f"- Check {check.when} it{at} (costs {check.minutes:g} min): {text}.\n"
        if rule.reads_before or rule.reads_after:
            after = [f"after it {name}" for name in rule.reads_after]
            out += f"- Read: {', '.join((*rule.reads_before, *after))}.\n"
        if rule.feeds:
            fed = [f"{f.column} ({f.how}{f' of {f.of}' if f.of else ''})" for f in rule.feeds]
            out += f"- Tells: {', '.join(fed)}.\n"
        if rule.keep_source:
            out += f"- Limit ({rule.keep_basis}): {rule.keep_source}.\n"
        if rule.uses:
            uses = ", ".join(f"{key} {amount:g} {unit}" for key, amount, unit in rule.uses)
            out += f"- Uses for a quarter plate: {uses}.\n"
        if rule.area_exponent:
            out += f"- Minutes grow with area to the power {rule.area_exponent:g} (seed).\n"
        if rule.cautions:
            out += f"- Cautions: {', '.join(rule.cautions)}.\n"
        out += f"- Source: {rule.source.rstrip('.')}.\n\n"
    return "## Steps\n\n" + out


def sizes_section() -> str:
    rows = [
        [s.name, f"{s.width_mm:.1f} x {s.height_mm:.1f}", f"{s.area_cm2:.1f}", s.basis, s.source]
        for s in plate_sizes()
    ]
    return "## Plate sizes\n\n" + table(["size", "mm", "cm2", "basis", "source"], rows)


def recipes_section() -> str:
    out = "## Baths\n\n"
    for bath in recipes():
        litres = sum(part.litres for part in bath.parts)
        rows = [
            [
                p.substance,
                p.as_written,
                f"{p.grams / (p.litres or litres):.3g}",
                f"{p.grams / litres:.3g}",
            ]
            for p in bath.parts
        ]
        out += f"**{bath.title}** (`{bath.key}`, {bath.basis})\n\n"
        out += table(["dissolve", "as written", "g/L alone", "g/L joined"], rows)
        out += f"{bath.order} Cautions: {', '.join(bath.cautions)}.\n\n"
        out += f"Source: {bath.source.rstrip('.')}.\n\n"
    return out


def cautions_section() -> str:
    rows = [[c.key, c.text, c.figures, c.basis, c.source] for c in cautions().values()]
    return "## Cautions\n\n" + table(["caution", "text", "figures", "basis", "source"], rows)


def refusals_section() -> str:
    names = {key: entry["name"] for key, entry in trade.toml("refusals")["substances"].items()}
    rows = [
        [" with ".join(names[c] for c in r.classes), r.why, r.right, r.basis, r.source]
        for r in refusals()
    ]
    head = ["refused", "why", "instead", "basis", "source"]
    intro = "Known by common, old and foreign names and by formula; the worst is told first.\n\n"
    kinds = [
        [", ".join(kind["words"]), kind["contents"], kind["basis"], kind["source"]]
        for kind in trade.toml("refusals")["kind"]
    ]
    return (
        "## Refusals\n\n"
        + intro
        + table(head, rows)
        + "\nKinds of bath and cleaner, read as what the worst common product of the kind holds; "
        + "any other name is not known here and is sent to its safety data sheet:\n\n"
        + table(["sold as", "holds", "basis", "source"], kinds)
    )


def tables_section() -> str:
    out = "## Tables of numbers\n\n"
    for name in trade.tables():
        entry = trade.table(name)
        count = len(next(iter(entry.columns.values())))
        head = " ".join(line.strip() for line in entry.head.splitlines() if line.strip())
        out += f"- `{name}`: {count} rows of {', '.join(entry.columns)}. {head}\n"
    return out


def page() -> str:
    out = HEAD + "".join(f"- **{basis}**: {meaning}\n" for basis, meaning in BASES.items()) + "\n"
    out += steps_section() + sizes_section() + cautions_section()
    out += recipes_section() + refusals_section()
    out += "## Facts by subject\n\n" + "".join(fact_section(s) for s in trade.subjects())
    out += tables_section()
    return out.rstrip("\n") + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote docs/{PAGE.name}")
