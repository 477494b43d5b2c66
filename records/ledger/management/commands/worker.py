"""The worker: seals the ledger each second and runs slow work."""

import signal
import threading
from typing import Any

from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, OperationalError, close_old_connections

from records.ledger.commands import UNANSWERED
from records.ledger.guard import refuse_to_start_unguarded
from records.ledger.refusals import Refused
from records.ledger.sealing import seal_all

TASKS_EVERY = 5


class Command(BaseCommand):
    help = "Seal the ledger and run slow work until told to end."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="seal and run what waits, then end")

    def handle(self, *_: Any, once: bool = False, **options: Any) -> None:
        try:
            refuse_to_start_unguarded()
        except (ImproperlyConfigured, DatabaseError) as failure:
            raise CommandError(str(failure), returncode=UNANSWERED) from failure
        stopping = threading.Event()
        if not once:
            for number in (signal.SIGTERM, signal.SIGINT):
                signal.signal(number, lambda *_: stopping.set())
        turn, told = 0, ""
        while True:
            trouble = self.take_turn(tasks=turn % TASKS_EVERY == 0)
            if trouble and trouble != told:  # what lasts is told once, not each second
                self.stderr.write(trouble)
            turn, told = turn + 1, trouble
            if once or stopping.wait(1):
                return

    def take_turn(self, *, tasks: bool) -> str:
        """Seal, and run tasks when it is their turn; what stood in the way, in words."""
        trouble = ""
        try:
            try:
                seal_all()
            except Refused as refused:
                trouble = str(refused)
            if tasks:
                call_command("db_worker", batch=True, startup_delay=False, verbosity=0)
        except OperationalError as failure:
            # A locked or restarting database is waited for; the next turn finds the same entries.
            trouble = f"The database did not answer: {failure}"
            close_old_connections()
        return trouble
