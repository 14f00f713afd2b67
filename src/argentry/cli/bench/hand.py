"""What each key or word does at the bench in a terminal."""

from __future__ import annotations

from argentry.bench.questions import OVER, Form, answered, choices, new_form, remarked
from argentry.cli.bench.bench_keys import (
    ESCAPE,
)
from argentry.desk.bench import acts
from argentry.desk.bench.acts import Act
from argentry.desk.bench.seat import Seat
from argentry.out.bench_screen import CHOICE_KEYS

WRONG = "Wrong. b does it again, x gives the plate up, space goes on with it."
ASK_BACK = "{words} Sure? y: yes"
SKIP = "Skip “{step}”? y: yes"
NO_SKIP = "What goes on is not skipped: end it, take it back (u), or give the plate up (x)."


class Hand:
    """What the terminal remembers between two keys."""

    def __init__(self, seat: Seat) -> None:
        self.seat = seat
        self.plate: str | None = None  # None: the most pressing one
        self.say = ""
        self.unsure: Act | None = None  # asked back, waits for y
        self.form: Form | None = None  # questions about a plate
        self.before: list[Form] = []  # the same, an answer less each
        self.left = False
        self.settle()

    def settle(self) -> None:
        """Ask how a plate came out when nothing else is to be done."""
        state = acts.look(self.seat)
        act = acts.next_act(state, self.plate)
        if self.form is None and act.kind == "grade" and act.plate is not None:
            self._ask(new_form(state, act.plate))

    def key(self, key: str) -> None:
        """Do what a key says."""
        act = acts.next_act(acts.look(self.seat), self.plate)
        unsure, self.unsure, self.say = self.unsure, None, ""
        if key == "q":
            self.left = True
        elif self.form is not None:
            self._answer(self.form, key)
        elif key == "y" and unsure is not None:
            self.say = self._sure(unsure)
        elif key in (" ", "space"):
            self._go_on(act)
        elif key in ("2", "3") and act.check is not None:
            self.say = acts.do(self.seat, act, {"2": "doubtful", "3": "wrong"}[key])
            if key == "3" and not self.say:
                self.say = WRONG
        elif key == "u":
            self.say = acts.undo(self.seat)
        elif key == "p":
            self.say = acts.stop_or_go(self.seat)
        elif key == "n":
            self._next_plate(act)
        elif key == "s" and act.kind in ("begin", "caution", "check", "wait"):
            self.unsure = acts.Act("skip", act.plate, act.step, "")
            title = acts.look(self.seat).step(act.step).title if act.step else ""
            self.say = SKIP.format(step=title)
        elif key == "s":
            self.say = NO_SKIP
        elif key == "w":
            self.say = acts.made_of(self.seat, self.plate)
        elif key in ("t", "k"):
            self.say = acts.answer_offer(self.seat, take=key == "t")
        elif key == "o":
            self.say = acts.take_one_more(self.seat)
        elif key == "b":
            self._back(act, "")
        elif key in ("x", "g"):
            self._open(act, gives_up=key == "x")
        if not self.left:
            acts.advise(self.seat)
            self.settle()

    def words(self, words: list[str]) -> bool:
        """Take answers by their names, or ``give-up`` and answers; return whether they are such."""
        opened = words[:1] == ["give-up"] and self.form is None
        if opened:
            self.key("x")
        taken = [self._word(word) for word in words[opened:]]
        return opened or any(taken)

    def _word(self, word: str) -> bool:
        told = [] if self.form is None else [key for key, _ in choices(self.form)]
        if word not in told:
            return False
        self.key(CHOICE_KEYS[told.index(word)])
        return True

    def asked(self, key: str, text: str) -> None:
        """Take what was typed after r, m or b, or a remark of a form."""
        act = acts.next_act(acts.look(self.seat), self.plate)
        self.say = ""
        if key == "m" and self.form is not None:
            self.form = remarked(self.form, text)
        elif key == "r":
            self.say = acts.read_in(self.seat, text, act.plate)
        elif key == "m":
            self.say = acts.remark(self.seat, act, text)
        else:
            self._back(act, text)
        acts.advise(self.seat)

    def _ask(self, form: Form) -> None:
        self.form, self.before = form, []

    def _open(self, act: Act, *, gives_up: bool) -> None:
        state = acts.look(self.seat)
        if gives_up and act.plate is not None:
            self._ask(new_form(state, act.plate, gives_up=True))
        over = [
            one
            for one in state.plates
            if one.begun and (one.state in ("done", "abandoned") or state.state == "closed")
        ]
        waiting = [one for one in over if one.grade_due] or over
        if not gives_up and waiting:
            self._ask(new_form(state, waiting[0].id))

    def _answer(self, form: Form, key: str) -> None:
        if key == "u" and self.before:
            self.form = self.before.pop()
        elif key in ("u", ESCAPE) and form.gives_up:
            self.form = None
        told = dict(zip(CHOICE_KEYS, choices(form), strict=False))
        if key not in told or told[key][0] == "remark":
            return
        self.before.append(form)
        self.form = answered(form, told[key][0])
        if self.form.asking in OVER:
            self.say = acts.finish_form(self.seat, self.form)
            self.form, self.plate = None, None

    def _go_on(self, act: Act) -> None:
        if act.sure:
            self.say = acts.do(self.seat, act)
        else:
            self.unsure, self.say = act, ASK_BACK.format(words=act.words)

    def _sure(self, act: Act) -> str:
        if act.kind == "skip":
            return acts.send(self.seat, "step_skipped", act.plate, act.step)
        return acts.do(self.seat, act)

    def _back(self, act: Act, text: str) -> None:
        if act.plate is not None:
            self.say = acts.go_back(self.seat, act.plate, text)

    def _next_plate(self, act: Act) -> None:
        going = [p.id for p in acts.look(self.seat).plates if p.state == "open"]
        if going:
            here = going.index(act.plate) if act.plate in going else -1
            self.plate = going[(here + 1) % len(going)]
