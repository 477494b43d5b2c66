"""migrate, by the owner where the program has a role of its own."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from django.core.management.commands.migrate import Command as Migrate
from django.db import connections


@contextmanager
def acting_as_owner() -> Iterator[None]:
    """The owner's connection serves as the default one inside the block.

    Migrations of libraries ask the default database without naming it: they would wait for the lock that the owner's
    own transaction holds.
    """
    program = connections["default"]
    connections["default"] = connections["owner"]
    try:
        yield
    finally:
        connections["default"] = program


class Command(Migrate):
    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.set_defaults(database="owner" if "owner" in settings.DATABASES else "default")

    def execute(self, *args: Any, **options: Any) -> str | None:
        settings.VAR_DIR.mkdir(parents=True, exist_ok=True)
        if options.get("database") != "owner":
            return super().execute(*args, **options)
        with acting_as_owner():
            return super().execute(*args, **options)
