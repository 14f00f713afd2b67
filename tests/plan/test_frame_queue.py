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


def test_a_plate_overdue_in_the_only_frame_will_need_a_quarter_of_its_time_more(plain):
    """Laid at 217, expected at 247, ripe at 417; an image is made in 5 min and keeps for 10."""
    shop = plain.shop(frames=(1,), first=200.0, expose=5.0, frame_within=10.0, expose_within=500.0)

    def exposed(ready):
        rule = plain.rule(not_before=[200.0, ready - 10.0])
        run = plain.simulated(shop, rule, ripe=plain.after(200.0)[None])
        assert run.starts[0, plain.DEVELOP] == 217.0
        return run.starts[1, plain.EXPOSE]

    # a quarter of the hour that it has lain by 277 is the quarter of an hour that the other needs
    assert exposed(277.0) == 277.0
    assert exposed(278.0) > 400.0
