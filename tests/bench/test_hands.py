"""What a plate holds at the bench: the place it works in, and its frame until it is taken out."""

from types import SimpleNamespace

import pytest

from argentry.bench.hands import _holder, held_by

RULES = {"buff": ("fixed", ""), "iodise": ("fuming", "box"), "develop": ("development", "frame"),
         "fix": ("fixed", "")}  # fmt: skip


def held(states, current, *, plate="open", left_out=()):
    rules = {
        key: SimpleNamespace(key=key, law=law, resource=resource)
        for key, (law, resource) in RULES.items()
        if key not in left_out
    }
    steps = {key: SimpleNamespace(key=key, state=state) for key, state in states.items()}
    one = SimpleNamespace(
        state=plate, current=current, steps=list(steps.values()), step=steps.__getitem__
    )
    return held_by(SimpleNamespace(steps=list(rules.values()), step=rules.__getitem__), one)


@pytest.mark.parametrize(
    ("states", "current", "resource"),
    [
        ("running waiting waiting waiting", "buff", ""),
        ("done running waiting waiting", "iodise", "box"),
        ("done done ready waiting", "develop", ""),  # the box is free once it is out
        ("done done running waiting", "develop", "frame"),
        ("done done done ready", "fix", "frame"),  # it lies there until it is taken out
        ("done done done running", "fix", ""),
        ("skipped skipped ready waiting", "develop", ""),
    ],
)
def test_a_plate_holds_what_it_works_in_and_its_frame_until_the_next_step(
    states, current, resource
):
    told = dict(zip(RULES, states.split(), strict=True))
    assert held(told, current) == resource
    assert held(told, current, plate="abandoned") == held(told, None) == ""


def test_a_run_without_a_development_keeps_no_frame():
    told = {"buff": "done", "iodise": "done", "fix": "ready"}
    assert held(told, "fix", left_out=("develop",)) == ""


@pytest.mark.parametrize(
    ("boxes", "at_work", "holder"), [(1, 0, None), (1, 1, "p1"), (2, 1, None), (2, 2, "p1")]
)
def test_a_box_is_waited_for_when_as_many_plates_hold_it_as_there_are(boxes, at_work, holder):
    """The plate that waits is p0; the first of the others to come out is named."""
    iodise = SimpleNamespace(
        key="iodise", law="fuming", resource="box", plan=None, state="running", left_s=30.0
    )
    buff = SimpleNamespace(**{**vars(iodise), "key": "buff", "resource": "", "state": "ready"})

    def one(number):
        now = iodise if 0 < number <= at_work else buff
        return SimpleNamespace(
            id=f"p{number}", state="open", current=now.key, steps=[now], step=lambda _: now
        )

    plates = [one(number) for number in range(3)]
    rules = {"iodise": iodise, "buff": buff}
    state = SimpleNamespace(
        plates=plates, constants={"resources": {"box": boxes}}, steps=[iodise, buff],
        step=rules.__getitem__,
    )  # fmt: skip
    assert _holder(state, plates[0], "box")[0] == holder
