"""Read a recorder file and tell what it says and what of it can't be trusted. Needs no database."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from records.ledger.commands import GOOD, Answering, CannotAnswer, columns, file_bytes
from records.runs.reading import DATE_ORDERS, NotALog, NotOneRecord, facts_of, join_logs, read_log


class Command(Answering):
    help = "Read a recorder file: channels, times, and what is wrong with it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "files",
            metavar="FILE",
            nargs="+",
            help="the recorder file, text or xlsx; several downloads of one recorder",
        )
        parser.add_argument("--zone", metavar="Z", help="zone of times without offset, such as Europe/Berlin")
        parser.add_argument("--column", action="append", default=[], metavar="NAME", help="only this channel; several")
        parser.add_argument("--dates", choices=list(DATE_ORDERS), help="order of day and month, where it is open")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        asked = {"zone": options["zone"], "columns": options["column"] or None, "dates": options["dates"]}
        try:
            log = join_logs([read_log(file_bytes(path), name=Path(path).name, **asked) for path in options["files"]])
        except (NotALog, NotOneRecord) as refusal:
            raise CannotAnswer(str(refusal)) from refusal
        return {"command": "readlog", **facts_of(log)}, GOOD

    def table(self, answer: dict[str, Any]) -> str:
        facts = [(key.replace("_", " "), answer[key]) for key in FACTS]
        head = ("channel", "quantity", "unit", "n", "missing", "min", "max")
        keys = ("name", "quantity", "unit", "n", "missing", "min", "max")
        channels = [[shown(channel[key]) for key in keys] for channel in answer["channels"]]
        problems = [(p["line"], p["kind"], p["words"]) for p in answer["problems"]]
        parts = [columns(("file", answer["file"]), facts), columns(head, channels)]
        if problems:
            parts.append(columns(("line", "kind", "in words"), problems))
        return "\n\n".join([*parts, *answer["notes"]])


FACTS = (
    "rows",
    "rows_set_aside",
    "events",
    "first",
    "last",
    "zone",
    "encoding",
    "delimiter",
    "decimal",
    "header_line",
    "sha256",
)


def shown(value: object) -> object:
    """A number short enough for a table."""
    return f"{value:.6g}" if isinstance(value, float) else value
