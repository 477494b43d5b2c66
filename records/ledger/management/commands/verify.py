"""Verify the book: payloads, leaves, tree, signatures, triggers, record rows and state tables."""

from __future__ import annotations

import re
from argparse import ArgumentParser, ArgumentTypeError
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict
from typing import Any

from django.db import connection, connections
from django.db.models import Max

from records.ledger.canonical import time_text
from records.ledger.commands import BAD, GOOD, Answering, CannotAnswer, columns
from records.ledger.models import Entry
from records.ledger.verifying import Noted, Verified, verify

from .migrate import acting_as_owner

ENGINES = ("sqlite", "postgresql")


HEAD = re.compile(r"([1-9][0-9]{0,18}):([0-9a-f]{64})", re.IGNORECASE)


def entry_number(text: str) -> int:
    """A number of an entry, from 1."""
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        raise ArgumentTypeError(f"“{text}” is no number of an entry; write 1 or more")
    return int(text)


def noted_head(text: str) -> Noted:
    """A head as it was noted: how many leaves, and their root."""
    match = HEAD.fullmatch(text.strip())
    if match is None:
        raise ArgumentTypeError(f"“{text}” is no head; write SIZE:ROOT as verify shows it, the root in 64 hex digits")
    return Noted(int(match[1]), match[2].lower())


class Command(Answering):
    """``verify [--ledger] [--from N] [--since SIZE:ROOT] [--engine ENGINE]``."""

    help = "Hold everything stored against the ledger; ends with exit code 1 when anything differs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--ledger", action="store_true", help="leaves, tree, signatures; no comparison of rows")
        parser.add_argument("--from", type=entry_number, default=1, dest="start", metavar="N", help="from entry N on")
        parser.add_argument("--since", type=noted_head, metavar="SIZE:ROOT", help="a head noted elsewhere still holds")
        parser.add_argument("--engine", choices=ENGINES, help="which of the databases that are set")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        start = options["start"]
        with connected_to(options["engine"]):
            with connection.cursor() as cursor:
                if "ledger_entry" not in connection.introspection.table_names(cursor):
                    raise CannotAnswer("The database has no tables yet; run manage.py migrate first.")
            last = Entry.objects.aggregate(last=Max("pk"))["last"] or 0
            if start > max(last, 1):
                known = f"the last one is {last}" if last else "the book is empty"
                raise CannotAnswer(f"There is no entry {start}; {known}.")
            found = verify(ledger_only=options["ledger"], start=start if start > 1 else 0, since=options["since"])
        return as_json(found), GOOD if found.clean else BAD

    def table(self, answer: dict[str, Any]) -> str:
        tree, triggers = answer["tree"], answer["triggers"]
        compared = "not compared" if answer["rows"] is None else f"{answer['rows']:,} compared"
        facts = [
            ("Verdict", "clean" if answer["clean"] else f"NOT CLEAN, faults: {len(answer['faults'])}"),
            ("Engine", answer["engine"]),
            ("Entries", f"{answer['entries']:,}, {answer['unsealed']:,} not sealed yet"),
            ("Tree", f"{tree['size']:,} leaves, root {tree['root']}, {'good' if tree['good'] else 'BROKEN'}"),
            ("Signed", f"{tree['signed_at'] or 'never'}, key {tree['key'] or '-'}"),
            ("Triggers", f"{triggers['due']} due, {len(triggers['missing'])} missing"),
            ("Rows", compared),
        ]
        if tree["size"]:
            facts.append(("Head", f"{tree['size']}:{tree['root']}  (note it elsewhere; --since asks for it later)"))
        if since := answer["since"]:
            verdict = "still the same" if since["good"] else "NOT THE SAME"
            facts.append(("Since", f"{since['size']:,} leaves, {verdict}"))
        text = "\n".join(f"{name:<9} {value}" for name, value in facts)
        if not answer["faults"]:
            return text
        head = ("Kind", "Table", "Row", "Entry", "Column", "What")
        rows = [
            [fault[key] for key in ("kind", "table", "row", "entry", "column", "words")] for fault in answer["faults"]
        ]
        return f"{text}\n\n{columns(head, rows)}"


def connected_to(engine: str | None) -> AbstractContextManager[None]:
    """The database of an engine serves as the default one inside the block."""
    if engine in (None, connection.vendor):
        return nullcontext()
    if "owner" in connections and connections["owner"].vendor == engine:
        return acting_as_owner()
    raise CannotAnswer(f"No {engine} database is set; DATABASE_URL names a {connection.vendor} one.")


def as_json(found: Verified) -> dict[str, Any]:
    """The result under its stable keys."""
    tree = found.tree
    return {
        "command": "verify",
        "clean": found.clean,
        "engine": found.engine,
        "entries": found.entries,
        "unsealed": found.unsealed,
        "tree": asdict(tree) | {"signed_at": tree.signed_at and time_text(tree.signed_at)},
        "triggers": {"due": found.triggers_due, "missing": list(found.triggers_missing)},
        "rows": found.rows,
        "since": found.since and asdict(found.since),
        "faults": [asdict(fault) for fault in found.faults],
    }
