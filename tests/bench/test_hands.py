"""What a plate holds at the bench: the place it works in, and its frame until it is taken out."""

from types import SimpleNamespace

import pytest

from argentry.bench.hands import held_by

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
