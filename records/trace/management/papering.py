"""What the commands that make a paper have in common."""

from __future__ import annotations

import os
from argparse import ArgumentParser
from hashlib import sha256
from pathlib import Path
from typing import Any, ClassVar

from plant.papers.page import Made
from records.ledger.commands import GOOD, Answering, CannotAnswer
from records.ledger.marks import Mark
from records.ledger.position import position_of
from records.ledger.refusals import Refused
from records.trace.handing_over import mark_asked


class Papering(Answering):
    """Makes one paper about one code, as known now or on a past moment, into a file."""

    name: ClassVar[str]

    def paper(self, code: str, mark: Mark) -> tuple[str, Made]:
        """The code as on file, and the paper."""
        raise NotImplementedError

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("code", metavar="CODE", help="any code of the house, old numbers too")
        parser.add_argument(
            "--out", required=True, metavar="FILE", help="the PDF to write; one that is there is replaced"
        )
        parser.add_argument("--as-of", metavar="T", help="as known then: RFC 3339, or the works' clock")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        try:
            mark = mark_asked(options["as_of"])
            code, made = self.paper(options["code"], mark)
        except Refused as refused:
            raise CannotAnswer(str(refused)) from refused
        position = position_of(mark)
        write_whole(options["out"], made.content)
        told = {
            "command": self.name,
            "of": code,
            "as_of": options["as_of"],
            "upto_entry": position.upto,
            "sealed": position.is_sealed,
            "tree_size": position.size,
            "root": position.root,
            "file": options["out"],
            "bytes": len(made.content),
            "sha256": sha256(made.content).hexdigest(),
            "pages": made.pages,
            "letters_not_printed": list(made.lacking),
        }
        return told, GOOD

    def table(self, answer: dict[str, Any]) -> str:
        pages = "1 page" if answer["pages"] == 1 else f"{answer['pages']} pages"
        lines = [
            f"{answer['file']}: {pages} on {answer['of']}, as known up to entry {answer['upto_entry']}.",
            f"SHA-256 {answer['sha256']}",
        ]
        if answer["letters_not_printed"]:
            lines.append(
                f"Named by number, since no letter is there for it: {', '.join(answer['letters_not_printed'])}."
            )
        return "\n".join(lines)


def write_whole(name: str, content: bytes) -> None:
    """Write a file whole or not at all. Raises ``CannotAnswer``."""
    path = Path(name)
    if path.is_dir():
        raise CannotAnswer(f"{name} is a folder; name a file in it.")
    part = path.with_name(f"{path.name}.part")
    try:
        part.write_bytes(content)
        os.replace(part, path)
    except FileNotFoundError as failure:
        raise CannotAnswer(f"There is no folder {path.parent}; make it, or name another.") from failure
    except (OSError, ValueError) as failure:
        part.unlink(missing_ok=True)
        raise CannotAnswer(f"{name} can't be written ({failure}); check the name and the rights.") from failure
