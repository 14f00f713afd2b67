"""A disk that forgets: what SQLite wrote and did not sync may be gone after the power went.

`Disk` is a file system in memory, given to SQLite through apsw. It notes every write, cut, making,
deletion and sync. `left` says what is found afterwards when the power goes at any point of that
list: of everything not yet synced each write, each creation and each deletion is there or not, by
chance; a write may also be torn at its sectors. The real book code runs over it through `Driver`.

Limits: storage is taken to be honest about sync; what is synced is safe.
"""

import sqlite3
from dataclasses import dataclass, field
from itertools import pairwise

import apsw

SECTOR = 512


class Disk(apsw.VFS):
    """Files in memory and a list of all that happened to them."""

    count = 0

    def __init__(self, files=None, room=None):
        Disk.count += 1
        self.name = f"forgetful{Disk.count}"
        super().__init__(self.name, base="")
        self.files = {name: bytearray(content) for name, content in (files or {}).items()}
        self.start = {name: bytes(content) for name, content in self.files.items()}
        self.done = []  # (what, name, ...)
        self.room = room  # bytes the disk holds; None for endless
        self.read_only = False

    def note(self, *what):
        self.done.append(what)

    def mark(self, ids):
        """Note that these events were acknowledged by now."""
        self.note("answered", "", tuple(ids))

    def xOpen(self, name, flags):  # noqa: N802
        text = None if name is None else str(name.filename() if hasattr(name, "filename") else name)
        if text is not None and text not in self.files:
            if not flags[0] & apsw.SQLITE_OPEN_CREATE:
                raise apsw.CantOpenError
            if self.read_only:
                raise apsw.CantOpenError
            self.files[text] = bytearray()
            self.note("create", text)
        if self.read_only:
            flags[1] = (flags[0] & ~apsw.SQLITE_OPEN_READWRITE) | apsw.SQLITE_OPEN_READONLY
        else:
            flags[1] = flags[0]
        return File(self, text)

    def xDelete(self, name, sync_folder):  # noqa: N802
        if name not in self.files:
            raise apsw.IOError
        del self.files[name]
        self.note("delete", name, bool(sync_folder))

    def xAccess(self, name, _flags):  # noqa: N802
        return name in self.files

    def xFullPathname(self, name):  # noqa: N802
        return name

    def used(self):
        return sum(len(content) for content in self.files.values())


class File(apsw.VFSFile):
    """One open file; nameless ones (temporary) are not noted."""

    def __init__(self, disk, name):
        self.disk, self.name = disk, name
        self.own = bytearray() if name is None else disk.files[name]
        self.fresh = True  # SQLite syncs the folder with the first sync of a new journal

    def xRead(self, amount, offset):  # noqa: N802
        return bytes(self.own[offset : offset + amount])

    def xWrite(self, data, offset):  # noqa: N802
        end = offset + len(data)
        more = max(0, end - len(self.own))
        if self.disk.room is not None and more and self.disk.used() + more > self.disk.room:
            raise apsw.FullError
        if len(self.own) < offset:
            self.own.extend(bytes(offset - len(self.own)))
        self.own[offset:end] = data
        if self.name is not None:
            self.disk.note("write", self.name, offset, bytes(data))

    def xTruncate(self, size):  # noqa: N802
        del self.own[size:]
        self.own.extend(bytes(size - len(self.own)))
        if self.name is not None:
            self.disk.note("size", self.name, size)

    def xSync(self, _flags):  # noqa: N802
        if self.name is not None:
            folder = self.fresh and self.name.endswith(("-journal", "-wal"))
            self.disk.note("sync", self.name, folder)
            self.fresh = False

    def xFileSize(self):  # noqa: N802
        return len(self.own)

    def xClose(self):  # noqa: N802
        pass

    def xLock(self, _level):  # noqa: N802
        pass

    def xUnlock(self, _level):  # noqa: N802
        pass

    def xCheckReservedLock(self):  # noqa: N802
        return False

    def xFileControl(self, _op, _pointer):  # noqa: N802
        return False

    def xSectorSize(self):  # noqa: N802
        return 4096  # as SQLite says of files on Unix

    def xDeviceCharacteristics(self):  # noqa: N802
        return apsw.SQLITE_IOCAP_POWERSAFE_OVERWRITE  # the same


@dataclass
class _Inode:
    """One file's bytes that are safe, and what is not yet: changes with their place in the list."""

    safe: bytearray
    waiting: list = field(default_factory=list)


def left(disk, upto, chance, *, torn):
    """Return the files found after the power went before item `upto` of what the disk did."""
    inodes = {name: _Inode(bytearray(content)) for name, content in disk.start.items()}
    safe_names = dict(inodes)
    now_names = dict(inodes)
    folder = []  # changes of names that are not yet safe: each a list of (name, inode or None)

    def settle_folder():
        for change in folder:
            _set(safe_names, change)
        folder.clear()

    for place, (what, name, *more) in enumerate(disk.done[:upto]):
        if what == "create":
            now_names[name] = _Inode(bytearray())
            folder.append([(name, now_names[name])])
        elif what == "delete":
            del now_names[name]
            folder.append([(name, None)])
            if more[0]:
                settle_folder()
        elif what == "rename":  # both names or none: file systems do it in one step
            now_names[more[0]] = now_names.pop(name)
            folder.append([(name, None), (more[0], now_names[more[0]])])
        elif what == "folder":
            settle_folder()
        elif what in ("write", "size"):
            now_names[name].waiting.append((place, (what, *more)))
        elif what == "sync":
            inode, began = now_names[name], more[1] if len(more) > 1 else place
            for change in (one for at, one in inode.waiting if at < began):
                _apply(inode.safe, change)
            inode.waiting = [(at, one) for at, one in inode.waiting if at >= began]
            if more[0]:
                settle_folder()
    for change in folder:
        if chance.random() < 0.5:
            _set(safe_names, change)
    found = {}
    for name, inode in safe_names.items():
        content = bytearray(inode.safe)
        for _, change in inode.waiting:
            for piece in _pieces(change) if torn else (change,):
                if chance.random() < 0.5:
                    _apply(content, piece)
        found[name] = bytes(content)
    return found


def _set(names, change):
    for name, inode in change:
        if inode is None:
            names.pop(name, None)
        else:
            names[name] = inode


def _apply(content, change):
    if change[0] == "size":
        del content[change[1] :]
        content.extend(bytes(change[1] - len(content)))
        return
    _, offset, data = change
    if len(content) < offset:
        content.extend(bytes(offset - len(content)))
    content[offset : offset + len(data)] = data


def _pieces(change):
    if change[0] == "size":
        return [change]
    _, offset, data = change
    cuts = [0, *range(SECTOR - offset % SECTOR, len(data), SECTOR), len(data)]
    return [("write", offset + a, data[a:b]) for a, b in pairwise(cuts) if b > a]


# apsw's errors as the standard library would word them
WORDS = {
    apsw.FullError: "database or disk is full",
    apsw.ReadOnlyError: "attempt to write a readonly database",
    apsw.IOError: "disk I/O error",
    apsw.CantOpenError: "unable to open database file",
    apsw.BusyError: "database is locked",
}


class Driver:
    """The few parts of Python's database interface that SQLAlchemy asks of a SQLite driver."""

    def __init__(self, disk, name="book.sqlite"):
        self.apsw = apsw.Connection(name, vfs=disk.name)
        self.isolation_level = None

    def cursor(self):
        return Cursor(self)

    def create_function(self, *_arguments, **_more):
        pass

    def commit(self):
        if self.apsw.in_transaction:
            self.cursor().execute("COMMIT")

    def rollback(self):
        if self.apsw.in_transaction:
            self.cursor().execute("ROLLBACK")

    def close(self):
        self.apsw.close()


class Cursor:
    """Rows are fetched whole: a book's questions are short."""

    arraysize = 1
    lastrowid = None

    def __init__(self, driver):
        self.driver = driver
        self.description, self.rows, self.rowcount = None, [], -1

    def execute(self, sql, parameters=()):
        cursor, names = self.driver.apsw.cursor(), []
        before = self.driver.apsw.total_changes()

        def about_to_run(running, _sql, _parameters):
            names[:] = [column[0] for column in running.get_description()]
            return True

        cursor.exec_trace = about_to_run
        try:
            cursor.execute(sql, parameters or ())
            self.rows = list(cursor)
        except apsw.Error as error:
            words = next(
                (say for kind, say in WORDS.items() if isinstance(error, kind)), str(error)
            )
            raise sqlite3.OperationalError(words) from error
        self.description = [(name, None, None, None, None, None, None) for name in names] or None
        self.rowcount = self.driver.apsw.total_changes() - before
        return self

    def executemany(self, sql, many):
        for parameters in many:
            self.execute(sql, parameters)
        return self

    def fetchone(self):
        return self.rows.pop(0) if self.rows else None

    def fetchmany(self, size=1):
        part, self.rows = self.rows[:size], self.rows[size:]
        return part

    def fetchall(self):
        part, self.rows = self.rows, []
        return part

    def close(self):
        pass
