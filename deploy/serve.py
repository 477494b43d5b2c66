"""Serve a plant: the pages by gunicorn, and the worker that seals the book, on the PostgreSQL of DATABASE_URL.

    python3 deploy/serve.py                  both, and whichever ends is started again
    python3 deploy/serve.py --only web       the pages alone, under a watcher such as systemd
    python3 deploy/serve.py --only worker    the worker alone

Settings come from the environment and from the files that SETTINGS_FILES names; deploy/env.example tells each. With a
certificate it speaks https itself; without one it listens on this machine only, for a proxy in front. Ctrl-C or
SIGTERM ends it when what is under way is done; SIGHUP takes up a changed program. Exit 0: ended as asked. 1: a program
ended again and again. 2: something must be put right first; a sentence for each says what.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import readiness
from installing import BASE, CANNOT, CannotStart, end_in_order_when_told, go_on_with_packages
from keeping import Kept
from program import settings_read

# More share one core and make each other wait: of fifty tablets at once the last then waits longer.
THREADS = 2
# A process takes up no more than its threads do at once, and keeps no connection: whatever else the proxy asks waits in
# the one queue of the machine, and goes to whichever process is free first. Else a tablet waits for the process that it
# happens to be connected to while the other one is idle. Not without a proxy, as browsers open connections in advance.
ONE_QUEUE = ["--worker-connections", str(THREADS), "--keep-alive", "0"]
# A query ends after 30 seconds (plant/settings.py); a request may ask several.
REQUEST_S, GRACE_S = 90, 30
PATIENCE_S = 40


def web_command(settings: Any) -> list[str]:
    """gunicorn with the plant's address, processes and certificate."""
    command = [sys.executable, "-m", "gunicorn", "plant.wsgi", "--chdir", str(BASE), "-b", settings.LISTEN]
    command += ["-w", str(settings.WEB_PROCESSES), "-k", "gthread", "--threads", str(THREADS)]
    if not settings.CERTIFICATE_FILE:
        command += ONE_QUEUE
    command += ["--timeout", str(REQUEST_S), "--graceful-timeout", str(GRACE_S)]
    # Addresses of clients stand in the lines below this level; no log of requests is kept.
    command += ["--log-level", "error", "--no-control-socket"]
    if Path("/dev/shm").is_dir():
        # Its sign of life is a file: on a disk that is slow for a moment it would be taken for dead.
        command += ["--worker-tmp-dir", "/dev/shm"]
    if settings.CERTIFICATE_FILE:
        command += ["--certfile", settings.CERTIFICATE_FILE, "--keyfile", settings.CERTIFICATE_KEY_FILE]
    return command


def worker_command() -> list[str]:
    return [sys.executable, str(BASE / "manage.py"), "worker"]


def refuse_when_not_ready(settings: Any, *, with_web: bool) -> None:
    """Every sentence at once: who puts one thing right wants to know of the next."""
    found = readiness.troubles(settings, with_web=with_web)
    if found:
        raise CannotStart("\n".join(found))
    if with_web and settings.CERTIFICATE_FILE:
        note = readiness.certificate_note(settings.CERTIFICATE_FILE, at=datetime.now(UTC))
        if note:
            print(note, file=sys.stderr)
    if os.geteuid() == 0:
        print("It runs as root; give it a user of its own: deploy/prepare.py does.", file=sys.stderr)


def collect_static_files() -> None:
    """Scripts, styles and fonts under names of their content, as the pages ask for them."""
    from django.core.management import call_command

    try:
        call_command("collectstatic", interactive=False, verbosity=0)
    except OSError as failure:
        words = f"Static files can't be written: {failure.filename}: {failure.strerror}."
        raise CannotStart(
            words + " Give VAR_DIR, with all that is in it, to the user that runs the program."
        ) from failure


def serve(programs: list[Kept], listen: str) -> int:
    """Keep the programs running until told to end."""
    signal.signal(signal.SIGHUP, taking_up_changes(programs))
    try:
        for program in programs:
            program.start()
        print(f"Serving at {listen}. Ctrl-C ends it.", flush=True)
        while all(program.look_after() for program in programs):
            time.sleep(0.5)
    except KeyboardInterrupt:
        print("Ending when what is under way is done ...", flush=True)
        return 0
    finally:
        for program in programs:
            program.end(PATIENCE_S)
    return 1


def taking_up_changes(programs: list[Kept]) -> Callable[..., None]:
    def told(*_: object) -> None:
        try:
            collect_static_files()
        except CannotStart as trouble:
            print(trouble, file=sys.stderr)
            return
        for program in programs:
            program.take_up_changes()

    return told


def go(only: str | None) -> int:
    """Check, then serve; one program alone takes the place of this script, so that its watcher watches it itself."""
    os.chdir(BASE)  # its programs run there, so a relative path of the settings means the same to all
    settings = settings_read()
    # The owner's rights never reach the pages; an empty value also stands before that of a file.
    os.environ["OWNER_DATABASE_URL"] = ""
    refuse_when_not_ready(settings, with_web=only != "worker")
    if only == "worker":
        os.execv(sys.executable, worker_command())
    collect_static_files()
    if only == "web":
        os.execv(sys.executable, web_command(settings))
    web = Kept("server", web_command(settings), reload=signal.SIGHUP)
    worker = Kept("worker", worker_command(), reload=signal.SIGTERM)
    scheme = "https" if settings.CERTIFICATE_FILE else "http"
    return serve([web, worker], f"{scheme}://{settings.LISTEN}/")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", choices=["web", "worker"], help="one of the two, under a watcher of its own")
    options = parser.parse_args()
    end_in_order_when_told()
    try:
        go_on_with_packages()
        return go(options.only)
    except CannotStart as trouble:
        print(trouble, file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())
