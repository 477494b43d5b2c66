"""The worker: seals the ledger each second and runs slow work."""

import signal
import threading
from typing import Any
from uuid import uuid4

from django.core.exceptions import ImproperlyConfigured
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, OperationalError, close_old_connections
from django_tasks_db.management.commands.db_worker import Worker as TaskRunner

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
            raise CommandError(f"The worker can't start: {failure}", returncode=UNANSWERED) from failure
        stopping, tasks = threading.Event(), task_runner()

        def end(*_: Any) -> None:
            """Let what is being sealed or run come to its end, and begin nothing more."""
            stopping.set()
            tasks.running = False

        if not once:
            for number in (signal.SIGTERM, signal.SIGINT):
                signal.signal(number, end)
        turn, told = 0, ""
        while True:
            trouble = take_turn(tasks if turn % TASKS_EVERY == 0 else None)
            if trouble and trouble != told:  # what lasts is told once, not each second
                self.stderr.write(trouble)
            turn, told = turn + 1, trouble
            if once or stopping.wait(1):
                return


def task_runner() -> TaskRunner:
    """Runs the tasks that wait, and ends when there are none. Its own command would take over the signals."""
    return TaskRunner(
        queue_names=["default"],
        interval=1,
        batch=True,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id=uuid4().hex,
        excluded_queue_names=[],
    )


def take_turn(tasks: TaskRunner | None) -> str:
    """Seal, and run tasks when it is their turn; what stood in the way, in words."""
    trouble = ""
    try:
        try:
            seal_all()
        except Refused as refused:
            trouble = str(refused)
        if tasks is not None:
            tasks.run()
    except OperationalError as failure:
        # A locked or restarting database is waited for; the next turn finds the same entries.
        trouble = f"The database did not answer: {failure}"
        close_old_connections()
    return trouble
