"""Which steps were done in a run: ended, and not taken back."""

from datetime import UTC, datetime

from argentry.book.log import append
from argentry.book.runs.done import steps_done
from argentry.records.event import Event
from argentry.records.ids import new_id

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def test_a_step_that_was_ended_and_not_taken_back_is_done(book):
    run, other, imported = new_id(), new_id(), new_id()
    ended = [
        Event(new_id(), of, "step_ended", NOON, plate, step, {}, "tablet")
        for of, plate, step in ((run, "p1", "gild"), (run, "p2", "gild"), (run, "p1", "fix"),
                                (other, "p1", "scour"))
    ]  # fmt: skip
    back = {"event": ended[1].id, "withdrawn": True}
    append(book, [*ended, Event(new_id(), run, "corrected", NOON, body=back, device="tablet")])
    found = steps_done(book, [run, other, imported], {"gild", "seal"})
    assert found == {run: {("p1", "gild")}, other: set()}
