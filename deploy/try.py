"""Try the program on this machine: install it, make an invented works, ask it where a resin batch went, serve it.

    python3 deploy/try.py                 everything; a second time it takes what is there
    python3 deploy/try.py --no-serve      ends after the answer
    python3 deploy/try.py --port 8080     another port of 127.0.0.1
    python3 deploy/try.py --fresh         makes the works again

Everything it makes lies in .venv/ and var/. Exit 0: ended as asked. 1: server or worker ended by itself. 2: something
is missing or in the way; one sentence says what.
"""

from __future__ import annotations

import argparse
import os
import shutil
import socket
import sqlite3
import sys
import time
from collections.abc import Sequence
from contextlib import ExitStack, closing
from datetime import date, timedelta
from pathlib import Path

from installing import (
    BASE,
    CANNOT,
    PYTHON,
    VENV,
    CannotStart,
    end_in_order_when_told,
    install,
    run,
    settings_left_out,
    started,
)

VAR = Path(os.environ.get("VAR_DIR") or BASE / "var").resolve()
DATABASE = VAR / "framethread.sqlite3"
SIGN_INS = VAR / "demo-sign-ins.txt"
RECORDER_FILES = VAR / "recorder-files"
# Says that the works in the database is this script's own, so that it may be made again, and whether it is whole.
MARK = VAR / "trial.txt"
BEGUN, WHOLE = "begun", "whole"
FRAMES, WEEKS, SEED = 120, 6, 7
STARTING_S = 30
# The first resin batch received: of all it has been in use longest.
A_RESIN_BATCH = """
    select state.code from items_itemstate state
    join items_item item on item.id = state.item_id
    join catalogue_partrevision revision on revision.id = item.revision_id
    join catalogue_part part on part.id = revision.part_id
    where part.kind = 'resin' and item.origin = 'received' order by item.id limit 1
"""


def manage(*args: object) -> None:
    """Run one command of the program."""
    if run([PYTHON, "manage.py", *args], environment=trial_environment()) != 0:
        raise CannotStart(f"manage.py {args[0]} did not end well; the lines above say why.")


def trial_environment() -> dict[str, str]:
    """The settings of the trial: none but its own, whatever the shell has set."""
    return settings_left_out() | {"TRIAL": "1", "VAR_DIR": str(VAR), "PYTHONUNBUFFERED": "1"}


def say(words: str) -> None:
    print(f"\n{words}", flush=True)


def is_free(port: int) -> bool:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # as the server does: a port just left is free
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True


def ask_database(question: str) -> str | None:
    """First value that the trial's database answers; nothing where there is no such table."""
    if not DATABASE.exists():
        return None
    with closing(sqlite3.connect(f"file:{DATABASE}?mode=ro", uri=True)) as database:
        try:
            row = database.execute(question).fetchone()
        except sqlite3.OperationalError:
            return None
    return None if row is None else str(row[0])


def clear(*, fresh: bool) -> None:
    """Take away a works that is to be made again, or that was broken off in the making; never one of somebody else."""
    mark = MARK.read_text() if MARK.exists() else ""
    if mark == WHOLE and not fresh:
        return
    if not mark and ask_database("select id from ledger_entry limit 1"):
        raise CannotStart(f"{DATABASE} holds a works that this script did not make. Move it away first.")
    for leftover in (*VAR.glob(f"{DATABASE.name}*"), SIGN_INS, MARK):
        leftover.unlink(missing_ok=True)
    shutil.rmtree(RECORDER_FILES, ignore_errors=True)


def first_day(today: date) -> date:
    """The Monday to begin on, so that the production ends last week and nothing on the shelf is old."""
    return today - timedelta(days=today.weekday(), weeks=WEEKS)


def make_works() -> None:
    """Tables, and the invented works with its production."""
    say("Bringing the tables up to date (the first time: about 10 seconds) ...")
    (VAR / "static").mkdir(exist_ok=True)
    manage("migrate", "-v", "0")
    if MARK.exists():
        return
    MARK.write_text(BEGUN)
    say(f"Making {FRAMES} frames of an invented works (about a minute and a half) ...")
    numbers = ("--frames", FRAMES, "--weeks", WEEKS, "--seed", SEED, "--first-day", first_day(date.today()))
    manage("simulate", *numbers, "--folder", RECORDER_FILES)
    if not SIGN_INS.exists():
        raise CannotStart(f"The works was made without {SIGN_INS}, so nobody could sign in.")
    MARK.write_text(WHOLE)


def show_answer() -> None:
    """Where the first resin batch went."""
    code = ask_database(A_RESIN_BATCH)
    if code is None:
        raise CannotStart("The works has no resin batch. Make it again with --fresh.")
    say(f"Where is resin batch {code}?  (.venv/bin/python manage.py whereused {code})\n")
    manage("whereused", code)


def serve(port: int) -> int:
    """Server and worker until Ctrl-C, or until one of them ends."""
    server = [VENV / "bin" / "gunicorn", "plant.wsgi", "-b", f"127.0.0.1:{port}", "-w", "2", "-k", "gthread"]
    with ExitStack() as programs:
        running = [
            programs.enter_context(started(command, environment=trial_environment()))
            for command in ([*server, "--threads", "4", "--log-level", "warning"], [PYTHON, "manage.py", "worker"])
        ]
        wait_until_it_answers(port, running)
        say(f"Open http://127.0.0.1:{port}/ in a browser of this machine. Ctrl-C ends it.")
        print(f"\nSign in as one of these (they stand in {SIGN_INS}):\n\n{SIGN_INS.read_text()}", flush=True)
        try:
            while all(program.poll() is None for program in running):
                time.sleep(0.5)
        except KeyboardInterrupt:
            say("Ending server and worker ...")
            return 0
    print("Server or worker ended by itself; the lines above say why.", file=sys.stderr)
    return 1


def wait_until_it_answers(port: int, running: Sequence) -> None:
    """Wait until somebody listens; words when nobody does."""
    for _ in range(STARTING_S * 10):
        if any(program.poll() is not None for program in running):
            break
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise CannotStart("The server did not start; the lines above say why.")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--port", type=int, default=8000, help="port of 127.0.0.1 (8000)")
    parser.add_argument("--no-serve", action="store_true", help="end after the answer")
    parser.add_argument("--fresh", action="store_true", help="make the works again")
    options = parser.parse_args()
    end_in_order_when_told()
    begun = time.monotonic()
    try:
        if not options.no_serve and not is_free(options.port):
            raise CannotStart(f"Port {options.port} is in use. Choose another one with --port.")
        say("Installing what is missing in .venv/ (the first time: about a minute) ...")
        install(BASE / "requirements.txt")
        VAR.mkdir(parents=True, exist_ok=True)
        clear(fresh=options.fresh)
        make_works()
        show_answer()
        say(f"Ready after {time.monotonic() - begun:.0f} seconds.")
        return 0 if options.no_serve else serve(options.port)
    except CannotStart as trouble:
        print(trouble, file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print("\nBroken off; everything it started has ended.", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main())
