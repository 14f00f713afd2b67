import pytest

from argentry.plan.tasks import Task, blocks_of, frame_span


def test_blocks_hold_every_step_once_in_order(tasks):
    blocks = blocks_of(tasks)
    assert tuple(t for b in blocks for t in b.tasks) == tasks
    assert [b.first for b in blocks] == [
        sum(len(x.tasks) for x in blocks[:i]) for i in range(len(blocks))
    ]


def test_steps_that_must_follow_at_once_share_a_block(tasks):
    blocks = blocks_of(tasks)
    assert [[t.key for t in b.tasks] for b in blocks] == [
        ["scour", "buff", "warm", "iodise", "load"],
        ["expose"],
        ["to frame"],
        ["develop"],
        ["fix"],
        ["gild"],
        ["cool"],
        ["seal"],
    ]


def test_a_block_holds_the_box_only_while_the_plate_is_over_iodine(tasks):
    block = blocks_of(tasks)[0]
    assert block.holds("box") == (25.0, 2.0)
    assert block.holds("camera") is None


def test_the_frame_is_held_until_the_plate_is_taken_out(tasks):
    assert frame_span(blocks_of(tasks)) == (2, 4)


def test_steps_without_a_frame_are_refused():
    with pytest.raises(ValueError, match="frame"):
        frame_span(blocks_of((Task("scour", "fixed", 5, 0.2, True),)))


def test_a_block_of_whole_minutes_is_not_lengthened_by_rounding_dust():
    block = blocks_of((Task("scour", "fixed", 6.0000008, 0.2, True),))[0]
    assert block.whole_minutes == 6
