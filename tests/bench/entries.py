"""Entries of the floor against a bare Django view that inserts one row: alone, in batches, and from fifty tablets.

Both are asked over HTTP of gunicorn as the plant runs it, behind the same sign-in. Every gate stands; nothing is left
out for the bench. The entries are those of a floor: tubes wound, steps logged, measures taken.
"""

import http.client
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db import connections

from records.items.actions import split_lot
from tests import builders, engines
from tests.bench.measuring import Row, row_of_pairs, seconds_in_turn
from tests.deploy.scripts import serve
from tests.records.floor.told import entry, lot

TOKEN = "a" * 32
BATCH = 20
TABLETS = 50
SLOWEST_S = 1.0


def bench(*, tiny: bool) -> list[Row]:
    """Entries a second against rows a second, and the slowest of a hundred against a second."""
    alone, batches, repetitions, tablets, each = (1, 1, 1, 2, 1) if tiny else (40, 3, 7, TABLETS, 8)
    count = repetitions * (alone + batches * BATCH) + tablets * each
    entries = iter(_a_floor(count))
    with _served() as address, closing(Tablet(address)) as tablet:
        ours = lambda: [tablet.log(next(entries)) for _ in range(alone)]  # noqa: E731
        bare = lambda: [tablet.insert() for _ in range(alone)]  # noqa: E731
        pairs = [(alone / a, alone / b) for a, b in seconds_in_turn(ours, bare, repetitions)]
        rows = [row_of_pairs("entry, alone", pairs, "entries/s", ">= 0.2")]
        ours = lambda: [tablet.log(*(next(entries) for _ in range(BATCH))) for _ in range(batches)]  # noqa: E731
        pairs = [(batches * BATCH / a, alone / b) for a, b in seconds_in_turn(ours, bare, repetitions)]
        rows.append(row_of_pairs(f"entry, in batches of {BATCH}", pairs, "entries/s", ">= 0.5"))
        waits = _from_many_tablets(address, [[next(entries) for _ in range(each)] for _ in range(tablets)])
        slowest = sorted(waits)[-max(1, len(waits) // 100)]
        name = f"entry, slowest 1 % of {tablets} tablets"
        rows.append(Row(name, slowest, SLOWEST_S, "s", slowest / SLOWEST_S, "<= 1"))
    return rows


def _a_floor(count: int) -> list[dict]:
    """A works, and so many entries that it has not seen: tubes, and the steps and measures of triangles.

    Each tablet winds from a spool of its own, as a spool is on one machine at a time.
    """
    builders.a_works()
    builders.a_lot("FB1", "FIB-UD", "5000 kg")
    spools = [f"SP{n}" for n in range(TABLETS)]
    split_lot("FB1", [builders.of(spool, "20 kg") for spool in spools], said=builders.said(-24))
    told: list[dict] = []
    for n in range(-(-count // 4)):
        front = f"F{n}"
        builders.a_front(front)
        spool = lot(spools[n // 2 % TABLETS], "20 g")
        wound = {"part": "TUBE", "station": "WIND-1", "tools": ["MD-1"], "spools": [spool]}
        line = {"characteristic": "bore", "readings": ["34.9"], "gauge": ""}
        told += [
            entry("wind", hours=2, unit=f"W{n}", **wound),
            entry("step", hours=2, unit=front, operation="vent", station="MOULD-1"),
            entry("measure", hours=3, unit=front, lines=[line]),
            entry("step", hours=4, unit=front, operation="trim", station="TRIM-1"),
        ]
    return told[:count]


@contextmanager
def _served() -> Iterator[str]:
    """The site over the bench's database, as the plant serves it; its host and port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{free.getsockname()[1]}"
    processes = "2" if engines.IS_POSTGRESQL else "1"
    command = [sys.executable, "-m", "gunicorn", "tests.bench.served", "-b", address, "-w", processes, "-k", "gthread"]
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "static").mkdir()
        own = {"TRIAL": "1", "VAR_DIR": folder, "SECRET_KEY": settings.SECRET_KEY, "DATABASE_URL": _database()}
        server = subprocess.Popen(
            [*command, "--threads", str(serve.THREADS), *serve.ONE_QUEUE, "--log-level", "error"], env=os.environ | own
        )
        try:
            _wait_for(address)
            yield address
        finally:
            server.terminate()
            server.wait()


def _database() -> str:
    """Address of the database that the bench stands in."""
    name = str(connections["default"].settings_dict["NAME"])
    if not engines.IS_POSTGRESQL:
        return f"sqlite:///{Path(name)}"
    return urlsplit(settings.DATABASE_URL)._replace(path=f"/{name}").geturl()


def _wait_for(address: str) -> None:
    host, port = address.split(":")
    for _ in range(200):
        with suppress(OSError), socket.create_connection((host, int(port))):
            return
        time.sleep(0.1)
    raise RuntimeError("the site did not come up; its trouble stands above")


class Tablet:
    """A tablet at which somebody is signed in."""

    def __init__(self, address: str) -> None:
        self._connection = http.client.HTTPConnection(address, timeout=60)
        session = _signed_in()
        self._headers = {
            "Cookie": f"sessionid={session}; csrftoken={TOKEN}",
            "X-CSRFToken": TOKEN,
            "Content-Type": "application/json",
        }
        self._row = json.dumps({"entries": [entry("step", unit="F1", operation="vent", station="MOULD-1")]})

    def ask(self, method: str, path: str, body: str = "") -> bytes:
        self._connection.request(method, path, body or None, self._headers)
        answer = self._connection.getresponse()
        content = answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{path} answered {answer.status}: {content[:500]!r}")
        return content

    def close(self) -> None:
        self._connection.close()

    def insert(self) -> None:
        """One row by the bare view, of the size of an entry."""
        self.ask("POST", "/bare/", self._row)

    def log(self, *entries: dict) -> None:
        """Entries in one batch; each must be taken."""
        answers = json.loads(self.ask("POST", "/floor/entries/", json.dumps({"entries": entries})))["answers"]
        wrong = [answer for answer in answers if answer["outcome"] != "taken" or answer["repeat"]]
        if wrong:
            raise RuntimeError(f"not taken: {wrong[0]}")


def _signed_in() -> str:
    """Key of a session of somebody who may do everything."""
    person = builders.a_person()
    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.create()
    return str(session.session_key)


def _from_many_tablets(address: str, shares: list[list[dict]]) -> list[float]:
    """Seconds that each entry waited for its answer, all tablets logging at once, each one entry after the other."""

    def shift(tablet: Tablet, entries: list[dict]) -> list[float]:
        waits = []
        with closing(tablet):
            for one in entries:
                begun = time.perf_counter()
                tablet.log(one)
                waits.append(time.perf_counter() - begun)
        return waits

    with ThreadPoolExecutor(len(shares)) as pool:
        return [wait for waits in pool.map(shift, [Tablet(address) for _ in shares], shares) for wait in waits]
