"""Days planned, checked, and played by a second simulation that shares no code with the planner."""

from __future__ import annotations

DAYS, WORKSHOP_DAYS = 40, 10


def run(days=None, only=(), first=0):
    """Return the rows of every judging run, or of those named, from that seeded day on."""
    from benchmarks.plan_judge import covered, live, runs, shops, workshop

    runs.FIRST = first
    season = live.SEASON if days is None else days
    shown = WORKSHOP_DAYS if days is None else days
    days = DAYS if days is None else days

    parts = {
        "sound": lambda: runs.sound(days),
        "named": runs.named,
        "itself": lambda: runs.itself(days),
        "thumb": lambda: runs.thumb(days),
        "search": lambda: runs.searched(days),
        "odds": lambda: runs.odds(days),
        "latest": lambda: runs.latest(days),
        "coverage": lambda: covered.coverage(days),
        "live": lambda: live.rows(season),
        "shops": shops.rows,
        "workshop": lambda: workshop.rows(first, shown),
        "speed": lambda: runs.speed(days),
    }
    unknown = set(only) - set(parts)
    if unknown:
        raise SystemExit(f"not a judging run: {', '.join(unknown)}; there are {', '.join(parts)}")
    for name, rows in parts.items():
        if not only or name in only:
            yield from rows()
