"""Open an empty works from a file: its name and zone, people, stations, tools, parts, routes, bands and settings."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any
from uuid import uuid4

from records.ledger.commands import GOOD, Answering, CannotAnswer, file_bytes
from records.ledger.refusals import Refused


class Command(Answering):
    help = "Open an empty works, in one act, with everything that a file states."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "file", metavar="FILE", help="the opening: one JSON object, fields as in plant/catalogue/specs.py"
        )

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        from plant.catalogue.actions import open_works
        from plant.catalogue.opening_file import opening_of
        from plant.people.models import Person
        from records.ledger.acts import Said
        from records.ledger.clock import clock

        try:
            told = json.loads(file_bytes(options["file"]))
        except (ValueError, RecursionError) as wrong:
            raise CannotAnswer(f"{options['file']} is no JSON in UTF-8; write one object.") from wrong
        try:
            opening = opening_of(told)
            works = open_works(opening, Said(Person.objects.set_up(), uuid4(), clock.now()))
        except Refused as refused:
            raise CannotAnswer(f"{options['file']}: {refused}") from refused
        counts = {name: len(getattr(opening, name)) for name in ("people", "stations", "parts", "routes", "recipes")}
        return {"works": works.name, "code": works.code, "zone": works.zone, **counts}, GOOD

    def table(self, answer: dict[str, Any]) -> str:
        told = ", ".join(f"{answer[name]} {name}" for name in ("people", "stations", "parts", "routes", "recipes"))
        return f"{answer['works']} is open, by the clocks of {answer['zone']}: {told}."
