"""How a command answers: one JSON object or a readable table, and an exit code that says what came of it.

Exit 0: answered. 1: answered, and the answer is bad. 2: could not answer; one plain sentence on stderr, stdout empty.
"""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from django.core.exceptions import ImproperlyConfigured
from django.core.management.base import BaseCommand, CommandError, handle_default_options
from django.db import DatabaseError, connections

GOOD = 0
BAD = 1
UNANSWERED = 2


class CannotAnswer(CommandError):
    """A command that has no answer: one plain sentence that says what, where and what to do. Ends with exit code 2."""

    def __init__(self, words: str) -> None:
        super().__init__(one_line(words), returncode=UNANSWERED)


class Answering(BaseCommand):
    """A command that answers a question: a subclass writes ``answer`` and ``table``.

    ``answer`` returns the answer under its stable keys and the exit code (``GOOD`` or ``BAD``), or raises
    ``CannotAnswer``. Nothing is printed before the whole answer is there, so that stdout stays empty without one.
    """

    # The checks of the whole site may ask the database; a command that needs them says so.
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Options that every answering command has; a subclass calls this and adds its own."""
        parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        """The answer under its stable keys, and ``GOOD`` or ``BAD``."""
        raise NotImplementedError

    def table(self, answer: dict[str, Any]) -> str:
        """The same facts as text for people."""
        raise NotImplementedError

    def handle(self, *_args: Any, **options: Any) -> None:
        """Ask, print, and leave with the exit code of the answer."""
        try:
            answer, code = self.answer(**options)
        except DatabaseError as failure:
            raise CannotAnswer(f"The database can't be asked ({failure}); check DATABASE_URL and migrate.") from failure
        except ImproperlyConfigured as failure:
            raise CannotAnswer(str(failure)) from failure
        text = json.dumps(answer, allow_nan=False) if options["json"] else self.table(answer)
        self.stdout.write(text)
        if code != GOOD:
            sys.exit(code)

    def run_from_argv(self, argv: list[str]) -> None:
        """Run from the shell; a wrong option or a missing argument is one sentence and exit 2 as well.

        Django's own way prints the usage over many lines and ends other failures with exit 1.
        """
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):  # a terminal without the degree sign gets an escape, not a crash
                stream.reconfigure(errors="backslashreplace")
        try:
            given = self.create_parser(argv[0], argv[1], allow_abbrev=False).parse_args(argv[2:])
            handle_default_options(given)
            options = vars(given)
            args = options.pop("args", ())
            self.execute(*args, **options)
        except CommandError as failure:
            leave(failure)
        finally:
            connections.close_all()


def leave(failure: CommandError) -> NoReturn:
    """End the program with exit 2 and the failure as one line on stderr."""
    words = one_line(str(failure).removeprefix("Error: "))
    sys.stderr.write(words if words.endswith((".", "?", "!")) else words + ".")
    sys.stderr.write("\n")
    sys.exit(UNANSWERED)


def one_line(words: str) -> str:
    """The words with all line breaks and runs of blanks as single blanks."""
    return " ".join(words.split())


def file_bytes(path: str) -> bytes:
    """The content of a file that the person named, or ``CannotAnswer`` with the reason."""
    try:
        return Path(path).read_bytes()
    except FileNotFoundError as failure:
        raise CannotAnswer(f"There is no file {path}; check the name and the folder.") from failure
    except IsADirectoryError as failure:
        raise CannotAnswer(f"{path} is a folder; name one file in it.") from failure
    except (OSError, ValueError) as failure:
        raise CannotAnswer(f"{path} can't be opened ({failure}); check the name and the rights.") from failure


def columns(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows under their headings in columns as wide as they need; an unknown value is a dash."""
    texts = [list(head)] + [["-" if cell is None else str(cell) for cell in row] for row in rows]
    widths = [max(len(row[n]) for row in texts) for n in range(len(head))]
    lines = ("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in texts)
    return "\n".join(lines)
