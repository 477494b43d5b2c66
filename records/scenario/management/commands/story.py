"""Tell a story of production to an empty works and answer its questions."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from records.ledger.commands import GOOD, Answering, columns, file_bytes
from records.ledger.sealing import seal_all


class Command(Answering):
    help = "Set an empty works up from a story, tell it each event, answer its questions."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", metavar="FILE", help="the story: one JSON object a line")
        parser.add_argument("--engine", choices=["sqlite", "postgresql"], default="sqlite", help="which store")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        from records.scenario.story.running import read_story, run_story
        from records.scenario.story.store import throw_away_store

        lines = read_story(file_bytes(options["file"]), options["file"])
        with throw_away_store(options["engine"]):
            told = run_story(lines)
            seal_all()
        return told, GOOD

    def table(self, answer: dict[str, Any]) -> str:
        events = [
            (row["event"], row["outcome"], row["why"], ", ".join(row["flags"]))
            for row in answer["events"]
            if row["outcome"] != "taken"
        ]
        taken = len(answer["events"]) - len(events)
        parts = [answer["story"], f"{taken} events were taken plainly."]
        if events:
            parts.append(columns(("event", "outcome", "why", "flags"), events))
        parts += [f"{name}: {said}" for name, said in answer["answers"].items()]
        return "\n".join(parts)
