"""When a frame is expected free for a plate about to be exposed: days worked out by hand."""


def begun(run, block):
    """Return when each plate began a block, the first first [min]."""
    return sorted(run.starts[:, block].tolist())


def test_the_next_plate_is_exposed_while_the_last_is_laid_into_the_only_frame(plain):
    # laid from 70 to 72 and ripe 30 min later; the next image, made by 130, keeps for 110 min
    run = plain.simulated(plain.shop(frames=(1,)))
    assert begun(run, plain.EXPOSE) == [10.0, 70.0]
    assert begun(run, plain.TO_FRAME) == [70.0, 130.0]


def test_a_plate_that_waits_for_the_only_frame_is_before_the_next(plain):
    # the frame is free at 117 and, with the plate that waits in it, at 219; images keep for 50 min
    shop = plain.shop(plates=3, frames=(1,), expose=5.0, develop=(100.0,), frame_within=50.0)
    run = plain.simulated(shop)
    assert begun(run, plain.TO_FRAME) == [15.0, 117.0, 219.0]
    assert begun(run, plain.EXPOSE) == [10.0, 117.0 - 55.0, 219.0 - 55.0]
    assert run.sound.all()
