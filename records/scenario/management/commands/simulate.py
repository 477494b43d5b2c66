"""Make the production of the invented works through the same actions as people."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.conf import settings

from records.ledger.commands import GOOD, Answering
from records.ledger.guard import refuse_to_start_unguarded
from records.scenario.simulating import simulate
from records.scenario.works import BADGES, FIRST_DAY, PASSWORD, PEOPLE


class Command(Answering):
    help = "Open the invented Tarnside Works and make its production."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--frames", type=int, default=120, metavar="N", help="frames to be bonded")
        parser.add_argument("--weeks", type=int, default=6, metavar="W", help="working weeks")
        parser.add_argument("--seed", type=int, default=7, metavar="S", help="same numbers, same works")
        words = f"the Monday on which it begins ({FIRST_DAY})"
        parser.add_argument("--first-day", type=date.fromisoformat, default=FIRST_DAY, metavar="DATE", help=words)
        parser.add_argument("--folder", metavar="DIR", help="where recorder files go, else under var/")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        refuse_to_start_unguarded()
        folder = Path(options["folder"] or settings.VAR_DIR / "recorder-files")
        made = simulate(
            options["frames"], options["weeks"], options["seed"], folder, self._progress, options["first_day"]
        )
        write_sign_ins()
        return made, GOOD

    def _progress(self, words: str) -> None:
        self.stderr.write(words)

    def table(self, answer: dict[str, Any]) -> str:
        return "\n".join(f"{name:10} {value}" for name, value in answer.items() if name != "command")


def write_sign_ins() -> None:
    """The demo sign-ins, for whoever tries the program on this machine."""
    lines = [f"{role.value}  {BADGES[name]}  {PASSWORD}" for name, (_, role) in PEOPLE.items()]
    (settings.VAR_DIR / "demo-sign-ins.txt").write_text("\n".join(lines) + "\n")
