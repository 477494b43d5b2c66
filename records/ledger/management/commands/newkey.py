"""Replace the key that signs the heads of the ledger."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from records.ledger.canonical import time_text
from records.ledger.commands import GOOD, Answering, CannotAnswer
from records.ledger.guard import refuse_to_start_unguarded
from records.ledger.keys import replace_key
from records.ledger.refusals import Refused
from records.ledger.signing import key_id


class Command(Answering):
    """``newkey [--lost]``."""

    help = "Sign with a new key from now on. The old one signs the change, so that its heads stay good."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--lost", action="store_true", help="the old key is gone and can't sign the change")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        refuse_to_start_unguarded()
        try:
            row = replace_key(lost=options["lost"])
        except Refused as refused:
            raise CannotAnswer(str(refused)) from refused
        key = bytes(row.key)
        return {
            "command": "newkey",
            "number": row.number,
            "key": key_id(key),
            "public": key.hex(),
            "size": row.size,
            "taken_at": time_text(row.taken_at),
            "signed_by_the_old": row.signature_before is not None,
        }, GOOD

    def table(self, answer: dict[str, Any]) -> str:
        old = "signed by the old one" if answer["signed_by_the_old"] else "NOT signed by the old one, which is lost"
        return (
            f"Key {answer['number']}, {answer['key']}, signs from leaf {answer['size']:,} on; {old}.\n"
            f"Public key {answer['public']}. Note it away from this machine, and keep a copy of the key file there."
        )
