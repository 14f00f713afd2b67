"""Start the real server quickly, again and again: everything is imported once, then forked.

Run as ``prefork.py STUDIO PORT [ADDRESS]``. For each line on standard input one child runs
``argentry serve``; its process id is written to standard output. The child before must be dead.
"""

import os
import signal
import sys
import tempfile
import traceback
from importlib import import_module

for name in (
    "argentry.cli.bench.serve",
    "argentry.web.app",
    "argentry.web.run",
    "argentry.desk.house",
    "argentry.desk.runs",
    "argentry.desk.bench.run",
    "argentry.keeping.studio",
    "argentry.keeping.sensors.devices",
    "argentry.book.open",
    "argentry.studio.file",
    "sqlalchemy.dialects.sqlite",
    "sqlalchemy.dialects.postgresql.psycopg",
    "psycopg",
    "uvicorn.loops.asyncio",
    "uvicorn.protocols.http.h11_impl",
    "uvicorn.lifespan.on",
):
    import_module(name)


def warm_up():
    """Open a run elsewhere once: what is read and imported then is there for every child."""
    from pathlib import Path

    from argentry.book.engine import close_book
    from argentry.book.open import open_book
    from argentry.desk.house import open_house
    from argentry.desk.runs import add_events, open_plain_run, run_answer
    from argentry.keeping.studio import new_studio
    from argentry.records.ids import new_id

    with tempfile.TemporaryDirectory() as folder:
        studio = Path(folder) / "studio"
        new_studio(studio, {"--name": "Elsewhere", "--tz": "Europe/Madrid"})
        book = open_book(studio)
        house = open_house(studio, book)
        run = open_plain_run(house, ["A"], None, "nobody")
        plate = run_answer(house, run).state["plates"][0]["id"]
        begun = {"id": new_id(), "kind": "step_begun", "plate": plate, "step": "scour"}
        add_events(house, run, [begun | {"age_s": 60.0, "body": {}}], "nobody")
        close_book(book)


def serve(studio, port, address):
    from argentry.cli.bench.serve import serve as command

    os.setpgid(0, 0)  # what it begins goes with it when it is killed
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    arguments = ["--studio", studio, "--port", port, "--no-qr"]
    command.main(
        [*arguments, *(["--book", address] if address else [])], prog_name="argentry serve"
    )


def main():
    studio, port, address = sys.argv[1], sys.argv[2], (sys.argv[3:] or [""])[0]
    warm_up()
    child = 0
    for _line in sys.stdin:
        if child:
            os.waitpid(child, 0)  # its port and its connections are free only now
        child = os.fork()
        if child == 0:
            try:
                serve(studio, port, address)
            except Exception:  # noqa: BLE001 - whatever it is, it is said
                traceback.print_exc()  # why it did not come up
            finally:
                os._exit(1)
        sys.stdout.write(f"{child}\n")
        sys.stdout.flush()
    if child:
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()
