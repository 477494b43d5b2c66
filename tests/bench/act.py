"""The same act with its ledger payload and without, by as many writers as the engine takes.

PostgreSQL: eight writers in two processes, as the web server runs. SQLite: one, as it lets one write at a time.
Without the payload the act still has its transaction, its entry under a key, its right and its rows.
"""

import multiprocessing
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from functools import partial
from unittest.mock import patch
from uuid import uuid4

from django.db import connection, connections

from records.ledger import acts
from tests import builders, engines
from tests.bench.measuring import Row, row_of_pairs, seconds_in_turn
from tests.records.ledger.book import note_shelf, said

PROCESSES, THREADS = (2, 4) if engines.IS_POSTGRESQL else (1, 1)


def one_row() -> None:
    """The smallest act there is."""
    note_shelf(uuid4().hex, said=said())


def a_lot_received() -> None:
    """A usual act of stores: item, code, place, receipt."""
    builders.a_delivery(uuid4().hex[:16])


def bench(*, tiny: bool) -> list[Row]:
    """Acts with their payload for each second, against the same acts without."""
    builders.a_works()
    count, repetitions = (2, 1) if tiny else (400, 7)
    rows = []
    for name, one_act in (("act, one row", one_row), ("act, a lot received", a_lot_received)):
        writers = partial(write, one_act, count, alone=tiny)
        pairs = seconds_in_turn(writers, partial(writers, payload=False), repetitions)
        rates = [(count / ours, count / baseline) for ours, baseline in pairs]
        rows.append(row_of_pairs(name, rates, "acts/s", ">= 0.7"))
    return rows


def write(one_act: Callable[[], None], count: int, *, alone: bool, payload: bool = True) -> None:
    """Do an act so many times, all writers together."""
    if alone or PROCESSES * THREADS == 1:
        _in_threads(one_act, count, 1, payload)
        return
    connections.close_all()  # a connection can't be shared with a forked process
    fork = multiprocessing.get_context("fork")
    share = count // PROCESSES
    writers = [fork.Process(target=_in_threads, args=(one_act, share, THREADS, payload)) for _ in range(PROCESSES)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
        if writer.exitcode:
            raise RuntimeError("a writer failed; its trouble stands above")


def _in_threads(one_act: Callable[[], None], count: int, threads: int, payload: bool) -> None:
    with nullcontext() if payload else patch.object(acts, "write_payload", lambda *_: None):
        if threads == 1:
            for _ in range(count):
                one_act()
            return
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(lambda share: _several(one_act, share), [count // threads] * threads))


def _several(one_act: Callable[[], None], count: int) -> None:
    try:
        for _ in range(count):
            one_act()
    finally:
        connection.close()
