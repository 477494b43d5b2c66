"""migrate, by the owner where the program has a role of its own."""

from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from django.core.management.commands.migrate import Command as Migrate


class Command(Migrate):
    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.set_defaults(database="owner" if "owner" in settings.DATABASES else "default")

    def execute(self, *args: Any, **options: Any) -> str | None:
        settings.VAR_DIR.mkdir(parents=True, exist_ok=True)
        return super().execute(*args, **options)
