"""Judge a recorder file under a recipe. Writes nothing."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import UTC, datetime
from typing import Any

from plant.catalogue.queries import recipe_in_force
from records.ledger.clock import clock
from records.ledger.commands import BAD, GOOD, Answering, CannotAnswer, columns, file_bytes
from records.ledger.refusals import Refused
from records.runs.assessing import Assessment, RoleUnknown, assess_log
from records.runs.queries import run_by_code
from records.runs.reading import NotALog, RecorderLog, read_log
from records.runs.recipes import recipe_of


class Command(Answering):
    help = "Judge a recorder file under a recipe: phases, checks, verdict. Writes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", metavar="FILE", help="the recorder file")
        parser.add_argument("--recipe", required=True, metavar="CODE", help="the recipe")
        parser.add_argument("--revision", default="", metavar="R", help="else the one in force at the first sample")
        parser.add_argument("--run", default="", metavar="CODE", help="the run whose file it is: its time counts")
        parser.add_argument("--zone", metavar="Z", help="zone of times without offset, such as Europe/Berlin")
        parser.add_argument(
            "--column", action="append", default=[], metavar="ROLE=NAME", help="which channel plays a part"
        )

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        try:
            log = read_log(file_bytes(options["file"]), name=options["file"], zone=options["zone"])
            at = began_at(log, options["run"])
            recipe = recipe_of(recipe_in_force(options["recipe"], at, options["revision"]))
            judged = assess_log(log, recipe, roles=roles_of(options["column"]))
        except (NotALog, Refused, RoleUnknown) as wrong:
            raise CannotAnswer(str(wrong)) from wrong
        bad = judged.verdict.value in ("outside", "not-shown")
        return told(options["file"], log, judged), BAD if bad else GOOD

    def table(self, answer: dict[str, Any]) -> str:
        head = f"{answer['file']} under {answer['recipe']} revision {answer['revision']}: {answer['verdict']}"
        rows = [
            (c["verdict"], c["rule"], number(c["got"]), number(c["lower"]), number(c["upper"]), c["unit"], c["words"])
            for c in answer["checks"]
        ]
        phases = [(p["name"], p["from"], p["to"]) for p in answer["phases"]]
        parts = [head, columns(("verdict", "rule", "got", "lower", "upper", "unit", "in words"), rows)]
        if phases:
            parts.append(columns(("phase", "from", "to"), phases))
        return "\n\n".join([*parts, "\n".join(answer["cautions"])])


def began_at(log: RecorderLog, run: str) -> datetime:
    """When the run began: as recorded, else the first sample, else the present."""
    if run:
        return run_by_code(run).began_at
    if isinstance(log.first, str):
        moment = datetime.fromisoformat(log.first)
        return moment.astimezone(UTC) if moment.tzinfo else moment.replace(tzinfo=UTC)
    return clock.now()


def roles_of(pairs: list[str]) -> dict[str, list[str]]:
    """Channels by part, as told; several may play one part. Raises ``CannotAnswer`` for a pair that is none."""
    roles: dict[str, list[str]] = {}
    for pair in pairs:
        role, parted, name = pair.partition("=")
        if not parted:
            raise CannotAnswer(f"Write --column as ROLE=NAME, such as vacuum=P1; {pair} is neither.")
        roles.setdefault(role.strip(), []).append(name.strip())
    return roles


def told(file: str, log: RecorderLog, judged: Assessment) -> dict[str, Any]:
    """An assessment under its stable keys."""
    return {
        "command": "assess",
        "file": file,
        "sha256": log.sha256,
        "recipe": judged.recipe,
        "revision": judged.revision,
        "verdict": judged.verdict.value,
        "phases": [{"name": p.name, "from": p.from_at, "to": p.to_at} for p in judged.phases],
        "checks": [
            {
                "rule": c.rule,
                "got": c.got,
                "lower": c.lower,
                "upper": c.upper,
                "unit": c.unit,
                "verdict": c.verdict.value,
                "from": c.from_at,
                "to": c.to_at,
                "words": c.words,
            }
            for c in judged.checks
        ],
        "cautions": list(judged.cautions),
        "problems": [{"line": p.line, "kind": p.kind.value, "words": p.words} for p in log.problems],
    }


def number(value: float | None) -> str:
    """A number short enough for a table; a dash where there is none."""
    return "-" if value is None else f"{value:.4g}"
