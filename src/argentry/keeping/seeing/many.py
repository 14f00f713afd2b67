"""Many pictures of finished plates, each judged into a row of a table that survives a kill."""

from __future__ import annotations

import os
import signal
from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import astuple, fields, replace
from functools import partial
from multiprocessing import connection, get_context, parent_process
from pathlib import Path
from threading import Thread

from argentry.book.pictures.kept import clean_name
from argentry.errors import ArgentryError, BadInput, check_range
from argentry.exchange.sheets.growing import NAME_ANOTHER, GrowingTable
from argentry.exchange.sheets.parquet import check_parquet, write_parquet
from argentry.keeping.seeing.kept import VERSION
from argentry.keeping.seeing.picture import sha256_of_named
from argentry.keeping.seeing.plate import CANNOT, AskedPlate, checked, judge_plate
from argentry.records.answers.plate_seen import PlateSeen
from argentry.records.answers.survey import FindingCount, Survey, SurveyRow, UnfitFile

COLUMNS = tuple(one.name for one in fields(SurveyRow))
KINDS = {
    key: next(kind for kind in (str, int, float) if kind.__name__ in one)
    for key, one in SurveyRow.__annotations__.items()
}
MOST_FILES = 100_000
NOT_A_FOLDER, NAME_A_FOLDER = "this is not a folder", "name a folder of pictures"
TOO_MANY, SPLIT = "it holds more than {most} files", "survey its folders one by one"
OTHERWISE = "its rows were judged otherwise ({asked})"
ENDED = (
    "A process that judged pictures was ended, perhaps for lack of memory. Nothing that was judged "
    "is lost: give the same command again, with fewer --processes."
)
FAILED = "judging it failed ({error}); please report it"
AHEAD = 2  # pictures that wait for each process: so many are judged again after a kill


def survey(
    folder: Path,
    asked: AskedPlate,
    table: Path,
    *,
    processes: int = 1,
    parquet: Path | None = None,
    progress: Callable[[int, int], None] = lambda _done, _count: None,
) -> Survey:
    """Judge every picture of a folder and of those in it, but for those that the table has.

    Parameters
    ----------
    folder : Path
        The pictures; names that begin with a dot are passed over.
    asked : AskedPlate
        How all of them were taken.
    table : Path
        CSV; rows stand in the order of the files' paths.
    processes : int
        How many pictures are judged at a time.
    parquet : Path, optional
        Where the whole table goes as Parquet too.
    progress : Callable
        Called with the pictures done and their count.

    Raises
    ------
    BadInput
        If an option cannot be, there is no such folder, or the table is not one of this survey.
    ArgentryError
        If a process was ended from outside.
    """
    checked(asked)
    check_range("--processes", float(processes), 1.0, 64.0, "processes")
    if parquet is not None:
        check_parquet("--parquet")
    how, files = _said(asked), _files(folder, {table, parquet or table})
    with GrowingTable(table, COLUMNS) as rows:
        other = next((row["asked"] for row in rows.rows if row["asked"] != how), None)
        if other is not None:
            raise BadInput(table.name, OTHERWISE, NAME_ANOTHER, asked=other)
        said = {(row["file"], row["sha256"]): _short(row) for row in rows.rows}
        keys: list[tuple[str, str]] = []

        def to_judge() -> Iterator[Callable[[], SurveyRow]]:
            for file in files:
                keys.append((_named(file, folder), _hash(file)))
                if keys[-1] not in said:
                    yield partial(_row, file, *keys[-1], how, asked)

        judged = 0
        for row in _in_order(to_judge(), processes):
            rows.add(astuple(row))
            said[row.file, row.sha256] = row.findings, row.why_not, row.line
            judged += 1
            progress(len(keys), len(files))
    if parquet is not None:
        with GrowingTable(table, COLUMNS) as rows:
            write_parquet(parquet, rows.rows, KINDS)
    return _summed(table, [(name, *said[name, sha256]) for name, sha256 in keys], judged)


def _short(row: dict[str, str]) -> tuple[str, str, str]:
    return row["findings"], row["why_not"], row["line"]


def _summed(table: Path, said: list[tuple[str, str, str, str]], judged: int) -> Survey:
    counts = Counter(
        one.split()[0] for _, found, *_ in said for one in found.split("; ") if one
    )  # fmt: skip
    unfit = tuple(UnfitFile(name, why) for name, _, why, _ in said if why)
    cannot = CANNOT.format(why="")
    return Survey(
        table, len(said), judged, len(said) - judged,
        tuple(FindingCount(key, count) for key, count in counts.most_common()),
        sum(line.startswith(cannot) for *_, line in said), unfit,
    )  # fmt: skip


def _said(asked: AskedPlate) -> str:
    """Return in one text by what code a picture is judged, and what is said of it."""
    own = [(one.name, getattr(asked, one.name)) for one in fields(asked)]
    words = [f"{key} {value}" for key, value in own if value not in (None, ())]
    return "; ".join([f"version {VERSION}", *words])


def _files(folder: Path, made: set[Path]) -> list[Path]:
    """Return what lies in a folder, but for what this survey itself makes there."""
    if not folder.is_dir():
        raise BadInput(str(folder), NOT_A_FOLDER, NAME_A_FOLDER)
    # realpath takes links that lead round in a circle, resolve does not
    found, own = [], {os.path.realpath(one) for one in made}
    for at, inner, names in os.walk(folder):
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        more = (Path(at, name) for name in names if not name.startswith("."))
        found += [one for one in more if os.path.realpath(one) not in own]
        if len(found) > MOST_FILES:
            raise BadInput(str(folder), TOO_MANY, SPLIT, most=MOST_FILES)
    return sorted(found)


def _named(file: Path, folder: Path) -> str:
    return "/".join(clean_name(part) for part in file.relative_to(folder).parts)


def _hash(file: Path) -> str:
    try:
        return sha256_of_named(file)
    except BadInput:
        return ""  # the row says why


def _in_order(work: Iterable[Callable[[], SurveyRow]], processes: int) -> Iterator[SurveyRow]:
    """Give the rows in the order of the work, a bounded number of them under way."""
    if processes == 1:
        yield from (one() for one in work)
        return
    pool = ProcessPoolExecutor(processes, mp_context=get_context("spawn"), initializer=_begin)
    try:
        ahead: deque[Future[SurveyRow]] = deque()
        for one in work:
            ahead.append(pool.submit(one))
            if len(ahead) > AHEAD * processes:
                yield ahead.popleft().result()
        while ahead:
            yield ahead.popleft().result()
    except BrokenProcessPool:
        raise ArgentryError(ENDED) from None
    finally:
        pool.shutdown(cancel_futures=True)


def _begin() -> None:
    """Leave Control-C to the parent, and end with it however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)


def _row(file: Path, name: str, sha256: str, how: str, asked: AskedPlate) -> SurveyRow:
    try:
        if not sha256:
            sha256_of_named(file)  # says why it cannot be read
        seen = judge_plate(file, file.name, sha256, asked)
    except BadInput as error:
        return SurveyRow(name, sha256, how, f"{error.what}; {error.right}")
    except Exception as error:  # noqa: BLE001 - one picture does not keep the others waiting
        return SurveyRow(name, sha256, how, FAILED.format(error=type(error).__name__))
    return _told(seen, name, how, ground=asked.smooth is not None)


def _told(seen: PlateSeen, name: str, how: str, *, ground: bool) -> SurveyRow:
    judged = not any(one.what == "defects" for one in seen.not_told)
    tones = [one.tone for one in seen.spots]
    made = SurveyRow(
        name, seen.sha256, how, "", seen.line,
        "; ".join(f"{one.key} {one.odds}" for one in seen.defects),
        seen.width_px, seen.height_px, seen.fog_share, seen.blue_share, seen.rim_share, seen.rim_mm,
        scratches=len(seen.scratches) if judged else None,
        light_spots=tones.count("light") if judged and ground else None,
        dark_spots=tones.count("dark") if judged and ground else None,
        spots_per_cm2=seen.spots_per_cm2, evenness=seen.evenness,
    )  # fmt: skip
    if (buff := seen.buff) is not None:
        made = replace(made, buff_direction_deg=buff.direction_deg, buff_strength=buff.strength)
    if (blur := seen.blur) is not None:
        made = replace(made, blur=blur.kind, blur_odds=blur.odds, edge_px=blur.edge_px,
                       copy_px=blur.copy_px)  # fmt: skip
    return made
