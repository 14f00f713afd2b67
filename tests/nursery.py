"""Processes beside a server begin at once: one process has read everything and is forked for each.

A server of the tests asks for help in a process of its own, which takes more than a second to read
its modules. Here it begins ``relay`` instead, which hands its three files to this process, stands
for the child as long as it lives, and ends as it ends; whoever kills the relay kills the child.
Run as ``nursery.py NUMBER MODULE`` with the number of a listening socket; it ends when its own
standard input does. Where tests run in several processes, these share one.
"""

from __future__ import annotations

import contextlib
import gc
import json
import os
import runpy
import selectors
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import traceback
from importlib import import_module

SHARED = "ARGENTRY_NURSERY"  # where one stands that this process need not begin
RELAY = """
import json, os, socket, sys
to = socket.socket(socket.AF_UNIX)
to.connect(sys.argv[1])
told = json.dumps({"words": sys.argv[2:], "where": os.getcwd(), "env": dict(os.environ)}).encode()
socket.send_fds(to, [len(told).to_bytes(4, "big")], [0, 1, 2])
to.sendall(told)
for file in (0, 1):
    os.close(file)
os._exit((to.recv(1) or b"\\1")[0])
"""
# what a child reads only when it is asked something
LATER = (
    "argentry.desk.bench.advice",
    "argentry.desk.bench.replan",
    "argentry.desk.learning.kept_plates",
    "argentry.desk.numbers.kept",
    "argentry.desk.numbers.makings",
    "argentry.desk.pages.learning",
    "argentry.desk.pages.today",
    "argentry.desk.season",
    "argentry.keeping.book",
    "argentry.keeping.studio",
    "argentry.out.day.ahead",
    "argentry.out.day.page",
    "argentry.records.plain",
    "ortools.sat.python.cp_model",
    "sqlalchemy.dialects.sqlite",
    "sqlalchemy.dialects.postgresql.psycopg",
)


class Nursery:
    """Stands where a command stands: its words, and the process behind them from the first use."""

    def __init__(self, module):
        self._module, self._process, self._one = module, None, threading.Lock()
        self._path = os.environ.get(SHARED)

    def __iter__(self):
        with self._one:
            if self._path is None:
                self._folder = tempfile.mkdtemp(prefix="argentry-nursery-")  # its name is short
                self._path = f"{self._folder}/calls"
                listening = socket.socket(socket.AF_UNIX)
                listening.bind(self._path)
                listening.listen(64)
                with listening:
                    words = [sys.executable, __file__, str(listening.fileno()), self._module]
                    self._process = subprocess.Popen(
                        words, stdin=subprocess.PIPE, pass_fds=[listening.fileno()]
                    )
        return iter((sys.executable, "-I", "-S", "-c", RELAY, self._path))

    def share(self):
        """Begin it now; processes that are started after this stand on it."""
        os.environ[SHARED] = tuple(self)[-1]

    def close(self):
        """End it, with every child of its."""
        if self._process is not None:
            self._process.stdin.close()
            self._process.wait()
            shutil.rmtree(self._folder)


def received(asking):
    """Return what a relay tells, and its files."""
    head, files, _, _ = socket.recv_fds(asking, 4, 3)
    with asking.makefile("rb") as rest:
        told = rest.read(int.from_bytes(head, "big"))
    return json.loads(told or b"null"), files


def live(told, files, module):
    """Be the child that was asked for, to the end."""
    code = 1
    try:
        for number, file in enumerate(files):
            os.dup2(file, number)
        os.closerange(3, 1024)
        os.chdir(told["where"])
        os.environ.clear()
        os.environ.update(told["env"])
        sys.argv = [module, *told["words"]]
        sys.stdin, sys.stdout, sys.stderr = (open(n, "rw"[n > 0]) for n in range(3))  # noqa: SIM115, PTH123
        runpy.run_module(module, run_name="__main__")
        sys.stdout.flush()
        code = 0
    except BaseException:  # noqa: BLE001 - whatever it is, it is said
        traceback.print_exc()
    finally:
        os._exit(code)


def main(listening, module):
    """Fork a child for each relay until the standard input ends."""
    for name in LATER:
        import_module(name)
    gc.freeze()
    children, ready = {}, selectors.DefaultSelector()
    ready.register(listening, selectors.EVENT_READ)
    ready.register(sys.stdin, selectors.EVENT_READ)

    def end(asking):
        pid, ended = children.pop(asking)
        _, status = os.waitpid(pid, 0)
        for file in (asking, ended):
            ready.unregister(file)
        with contextlib.suppress(OSError):  # its relay was killed
            asking.send(bytes([os.waitstatus_to_exitcode(status) & 255]))
        asking.close()
        os.close(ended)

    while True:
        for key, _ in ready.select():
            if key.fileobj is sys.stdin:
                for pid, _ in children.values():
                    os.kill(pid, signal.SIGKILL)
                return
            if key.fileobj is listening:
                asking, _ = listening.accept()
                told, files = received(asking)
                if told is None:  # killed before it had told
                    asking.close()
                    continue
                pid = os.fork()
                if pid == 0:
                    live(told, files, module)
                for file in files:
                    os.close(file)
                ended = os.pidfd_open(pid)
                children[asking] = pid, ended
                ready.register(asking, selectors.EVENT_READ)
                ready.register(ended, selectors.EVENT_READ, asking)
            elif key.data in children:
                end(key.data)
            elif key.fileobj in children:  # its relay was killed
                os.kill(children[key.fileobj][0], signal.SIGKILL)
                end(key.fileobj)


if __name__ == "__main__":
    main(socket.socket(fileno=int(sys.argv[1])), sys.argv[2])
