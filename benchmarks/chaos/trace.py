"""What a running program writes and syncs below a folder, and what it answers, as strace saw it.

A trace has the form of `tests.power.disk.Disk`: the files at its start and a list of all that was
done to them, in the order in which it was finished. A sync makes safe only what was finished before
it began.
"""

from __future__ import annotations

import os
import re
import subprocess
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

CALLS = (
    "openat,open,creat,pwrite64,pwritev,pwritev2,write,writev,ftruncate,truncate,fallocate,fsync,"
    "fdatasync,unlink,unlinkat,rename,renameat,renameat2,lseek,sendto,sendmsg,link,linkat,mkdir,"
    "mkdirat,rmdir,copy_file_range,sendfile"
)
LINE = re.compile(r"^(\d+) +(?:<\.\.\. (\w+) resumed>(.*)|(\w+)\((.*))$", re.DOTALL)
HEX = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')
PATH = re.compile(r"(-?\d+|AT_FDCWD)<((?:\\x[0-9a-f]{2})*)>")
ENDED = re.compile(r"^(?P<head>.*)\) +=(?P<tail> (?P<result>-?\d+).*)$", re.DOTALL)
ANSWERED = re.compile(rb'"stored": ?\[(.*?)\]', re.DOTALL)
ID = re.compile(rb'"id": ?"([0-9a-f-]{36})"')
# calls that could change a file and are not understood here: seen below the folder, they end it
UNKNOWN = {"link", "linkat", "copy_file_range", "sendfile", "truncate"}
FOLDERS = {"mkdir", "mkdirat", "rmdir"}


@dataclass
class Trace:
    """Files at the start, and what was done: as `tests.power.disk.left` reads it."""

    start: dict[str, bytes]
    done: list[tuple] = field(default_factory=list)


def files_below(folder: Path, wanted: Callable[[str], bool]) -> dict[str, bytes]:
    """Return name to content of the files that are wanted."""
    found = ((path.relative_to(folder).as_posix(), path) for path in sorted(folder.rglob("*")))
    return {name: path.read_bytes() for name, path in found if path.is_file() and wanted(name)}


def with_children(pid: int) -> list[int]:
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    return [pid, *(int(one) for one in children.split())]


def watch(pids: Iterable[int], out: Path) -> subprocess.Popen[bytes]:
    """Follow running processes and all that they begin; return when they are watched."""
    named = [word for pid in pids for word in ("-p", str(pid))]
    watching = subprocess.Popen(
        ["strace", "-f", "-y", "-xx", "-s", "100000000", "-e", f"trace={CALLS}", "-o", str(out),
         *named],
        stderr=subprocess.PIPE,
    )  # fmt: skip
    end = time.monotonic() + 30
    assert watching.stderr is not None
    os.set_blocking(watching.stderr.fileno(), False)
    said = b""
    while said.count(b"attached") < len(named) // 2:
        said += watching.stderr.read() or b""
        if watching.poll() is not None or time.monotonic() > end:
            raise RuntimeError(f"strace does not follow the server: {said.decode()}")
        time.sleep(0.01)
    return watching


class Reader:
    """Makes a trace of the lines of strace."""

    def __init__(
        self, folder: Path, start: dict[str, bytes], wanted: Callable[[str], bool]
    ) -> None:
        self.root = f"{folder.resolve()}/"
        self.wanted = wanted
        self.trace = Trace(start)
        self.sizes = {name: len(content) for name, content in start.items()}
        self.places: dict[tuple[str, str], int] = {}  # of files written without saying where
        self.begun: dict[str, tuple[str, str, int]] = {}  # by thread: a call that goes on

    def read(self, file: Path) -> Trace:
        with file.open(encoding="ascii", errors="replace") as lines:
            for line in lines:
                self._line(line.rstrip("\n"))
        return self.trace

    def _line(self, line: str) -> None:
        found = LINE.match(line)
        if found is None:
            return
        thread, resumed, end, call, rest = found.groups()
        here = len(self.trace.done)
        if resumed:
            call, rest, here = self.begun.pop(thread, (resumed, "", here))
            rest += end
        elif rest.endswith(" <unfinished ...>"):
            self.begun[thread] = (call, rest.removesuffix(" <unfinished ...>"), here)
            return
        whole = ENDED.match(rest)
        if whole is not None and int(whole["result"]) >= 0:
            self._call(call, whole["head"], whole["tail"], int(whole["result"]), here, thread)

    def _name(self, path: str) -> str | None:
        """Return a path below the folder by its name there; None for any other."""
        if path.endswith(" (deleted)"):  # nobody finds it again
            return None
        full = os.path.normpath(path if path.startswith("/") else self.root + path)
        name = full.removeprefix(self.root)
        return name if full.startswith(self.root) and self.wanted(name) else None

    def _of(self, text: str) -> str:
        found = PATH.search(text)
        return _bytes(found[2]).decode("utf-8", "replace") if found else ""

    def _call(self, call: str, head: str, tail: str, result: int, began: int, thread: str) -> None:
        if call in ("sendto", "sendmsg", "write", "writev") and "socket" in self._of(head):
            self._answer(b"".join(_bytes(one) for one in HEX.findall(head)))
        elif call in ("openat", "open", "creat"):
            self._open(head, tail, thread)
        elif call in ("unlink", "unlinkat", "rename", "renameat", "renameat2"):
            names = [self._name(_bytes(one).decode()) for one in HEX.findall(head)]
            self._names(call, [name for name in names if name is not None])
        elif call in ("fsync", "fdatasync"):
            path = self._of(head)
            name = self._name(path)
            if name in self.sizes:
                self.trace.done.append(("sync", name, False, began))
            elif f"{path}/".startswith(self.root):
                self.trace.done.append(("folder", ""))
        elif call in UNKNOWN:
            if self._name(self._of(head)) in self.sizes:
                raise RuntimeError(f"the trace holds a call that is not understood: {call}")
        elif call not in FOLDERS:
            self._change(call, head, result, thread)

    def _open(self, head: str, tail: str, thread: str) -> None:
        name = self._name(self._of(tail))
        if name is None or "O_DIRECTORY" in head or "O_RDONLY" in head:
            return
        if name not in self.sizes:
            self.sizes[name] = 0
            self.trace.done.append(("create", name))
        elif "O_TRUNC" in head:
            self.sizes[name] = 0
            self.trace.done.append(("size", name, 0))
        self.places[thread, name] = self.sizes[name] if "O_APPEND" in head else 0

    def _names(self, call: str, names: list[str]) -> None:
        there = [name for name in names if name in self.sizes]
        if call.startswith("unlink") and there:
            del self.sizes[there[0]]
            self.trace.done.append(("delete", there[0], False))
        elif call.startswith("rename") and there and len(names) == 2:
            self.sizes[names[1]] = self.sizes.pop(names[0])
            self.trace.done.append(("rename", *names))

    def _change(self, call: str, head: str, result: int, thread: str) -> None:
        name = self._name(self._of(head))
        if name not in self.sizes or name is None:
            return
        numbers = [int(one) for one in re.findall(r", (\d+)(?=,|$)", head)]
        if call == "lseek":
            self.places[thread, name] = result
            return
        if call in ("ftruncate", "fallocate"):
            size = numbers[-1] if call == "ftruncate" else max(self.sizes[name], sum(numbers[-2:]))
            self.sizes[name] = size
            self.trace.done.append(("size", name, size))
            return
        data = b"".join(_bytes(one) for one in HEX.findall(head))[:result]
        own = call in ("write", "writev")
        place = self.places.get((thread, name), 0) if own else numbers[-1]
        if call == "pwritev2":
            place = numbers[-2]
        if own:
            self.places[thread, name] = place + len(data)
        self.sizes[name] = max(self.sizes[name], place + len(data))
        self.trace.done.append(("write", name, place, data))

    def _answer(self, content: bytes) -> None:
        ids = [one.decode() for part in ANSWERED.findall(content) for one in ID.findall(part)]
        if ids:
            self.trace.done.append(("answered", "", tuple(ids)))


def _bytes(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))
