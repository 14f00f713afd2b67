"""Two devices at the bench that go through whole runs, one event after another.

Each event keeps its id until the server has answered it; what is not answered is sent again with
its age by the device's own clock, as the page does.
"""

import http.client
import json
import time
from dataclasses import dataclass, field
from threading import Event as Flag
from threading import Thread

from argentry.records.ids import new_id

ENDS = (OSError, http.client.HTTPException, json.JSONDecodeError)
GOES_OUT_OF_REACH = 12  # every so many events the device has sent all and hears no answer


@dataclass
class Sent:
    """One event as the device knows it."""

    id: str
    kind: str
    plate: str | None
    step: str | None
    body: dict
    made: float  # by the wall clock of this machine, which nobody sets during the test
    run: str
    seq: int = 0
    at: str = ""
    answered: float = 0.0
    tries: int = 0
    unanswered_but_stored: bool = False


@dataclass
class Device(Thread):
    """Goes through runs of one plate until told to stop; stops only when all is answered."""

    port: int
    name_of_device: str
    stop: Flag
    sent: list = field(default_factory=list)
    runs: list = field(default_factory=list)
    wrong: list = field(default_factory=list)
    silent: int = 0  # requests that got no answer
    put_off: int = 0  # answered 503: the database server is away, send them again
    took_s: float = 0.02  # how long an answer to an event takes, of late

    def __post_init__(self):
        super().__init__(daemon=True)

    __hash__ = Thread.__hash__

    def ask(self, method, path, body=None, *, hears=True):
        """Return (status, answer); raise what the network raises, or where none is heard."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        try:
            headers = {"Origin": f"http://127.0.0.1:{self.port}"}
            content = None
            if body is not None:
                content = json.dumps(body)
                headers["Content-Type"] = "application/json"
            connection.request(method, path, body=content, headers=headers)
            if not hears:
                raise ConnectionResetError("out of reach")
            answer = connection.getresponse()
            return answer.status, json.loads(answer.read())
        finally:
            connection.close()

    def insist(self, method, path, body, *, hears=True):
        """Ask until there is an answer. `body` makes the body again each time.

        With `hears` false the first answer is lost on its way.
        """
        while True:
            try:
                status, answer = self.ask(method, path, body(), hears=hears)
            except ENDS:
                hears = True
                self.silent += 1
                time.sleep(0.01)
                continue
            if status != 503:
                return status, answer
            self.put_off += 1
            time.sleep(0.05)

    def run(self):
        try:
            count = 0
            while not self.stop.is_set():
                count += 1
                self.whole_run(f"{self.name_of_device} {count}")
        except Exception as error:  # noqa: BLE001 - the test looks at it
            self.wrong.append(repr(error))

    def whole_run(self, label):
        wanted = {"plates": [label]}
        status, opened = self.insist("POST", "/api/runs", lambda: wanted)
        assert status == 201, opened
        run = opened["run"]
        self.runs.append(run)
        _, whole = self.insist("GET", f"/api/runs/{run}", lambda: None)
        (plate,) = whole["state"]["plates"]
        states = {step["key"]: step["state"] for step in plate["steps"]}
        shown = set()
        for step in whole["state"]["steps"]:
            if states[step["key"]] == "skipped":
                continue
            self.one_step(run, plate["id"], step, shown)
        self.add(run, "run_closed", None, None, {})

    def one_step(self, run, plate, step, shown):
        key = step["key"]
        for caution in step["cautions"]:
            if (key, caution["key"]) not in shown:
                shown.add((key, caution["key"]))
                self.add(run, "caution_shown", None, key, {"caution": caution["key"]})
        self.add(run, "step_begun", plate, key, {})
        self.add(run, "remark_made", plate, key, {"words": f"{key} goes on"})
        self.add(run, "step_ended", plate, key, {})
        if step["check"]:
            self.add(run, "check_answered", plate, key, {"answer": "right"})

    def add(self, run, kind, plate, step, body):
        one = Sent(new_id(), kind, plate, step, body, time.time(), run)
        self.sent.append(one)

        def content():
            one.tries += 1
            event = {"id": one.id, "kind": kind, "body": body}
            if plate is not None:
                event["plate"] = plate
            if step is not None:
                event["step"] = step
            # its age by the device's clock; a fresh event is sent as fresh
            event["age_s"] = 0.0 if one.tries == 1 else time.time() - one.made
            return {"events": [event]}

        hears = len(self.sent) % GOES_OUT_OF_REACH != 0
        status, answer = self.insist("POST", f"/api/runs/{run}/events", content, hears=hears)
        assert status == 200, (kind, step, one.tries, answer)
        assert answer["refused"] == [], answer
        (stored,) = answer["stored"]
        one.seq, one.at, one.answered = stored["seq"], stored["at"], time.time()
        one.unanswered_but_stored = stored["duplicate"]
        if one.tries == 1:
            self.took_s += 0.2 * (one.answered - one.made - self.took_s)
