"""The worker: seals the ledger each second and runs slow work."""

import signal
import threading
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, close_old_connections

from records.ledger.guard import refuse_to_start_unguarded
from records.ledger.sealing import seal_all

TASKS_EVERY = 5


class Command(BaseCommand):
    help = "Seal the ledger and run slow work until told to end."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="seal and run what waits, then end")

    def handle(self, *_: Any, once: bool = False, **options: Any) -> None:
        refuse_to_start_unguarded()
        stopping = threading.Event()
        if not once:
            for number in (signal.SIGTERM, signal.SIGINT):
                signal.signal(number, lambda *_: stopping.set())
        turn = 0
        while True:
            try:
                seal_all()
                if turn % TASKS_EVERY == 0:
                    call_command("db_worker", batch=True, startup_delay=False, verbosity=0)
            except OperationalError as trouble:
                # A locked or restarting database is waited for; the next turn finds the same entries.
                self.stderr.write(f"The database did not answer: {trouble}")
                close_old_connections()
            turn += 1
            if once or stopping.wait(1):
                return
