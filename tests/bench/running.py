"""Which benches there are, how they are asked for and how they are shown."""

import json
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from dataclasses import asdict

from records.ledger.commands import columns
from tests.bench import act, entries, first_step, tampering, tracing, verifying
from tests.bench.measuring import Row

BENCHES: dict[str, Callable[..., list[Row]]] = {
    "tampering": tampering.bench,
    "act": act.bench,
    "entries": entries.bench,
    "first_step": first_step.bench,
    "verify": verifying.bench,
}
# Benches that only ask, all of the same plant, in this many frames unless told otherwise.
ON_THE_PLANT: dict[str, Callable[..., list[Row]]] = {
    "whereused": tracing.whereused,
    "asknown": tracing.asknown,
    "madefrom": tracing.madefrom,
    "page": tracing.page,
}
FRAMES, FRAMES_WHEN_TINY = 10_000, 24
NAMES = (*BENCHES, *ON_THE_PLANT)


def chosen(argv: list[str]) -> Namespace:
    """Options of the command line."""
    parser = ArgumentParser(prog="python -m tests.bench", description="Ours against a baseline, in one run.")
    parser.add_argument("--only", choices=NAMES, action="append", dest="names", help="this one; may come again")
    parser.add_argument("--json", action="store_true", help="print one JSON list and nothing else")
    parser.add_argument("--frames", type=int, default=FRAMES, help="size of the plant that is asked (%(default)s)")
    parser.add_argument("--tiny", action="store_true", help="so small that it only shows that a bench runs")
    asked = parser.parse_args(argv)
    asked.names = asked.names or list(NAMES)
    return asked


def together(names: list[str]) -> list[list[str]]:
    """Benches in groups, a database for each group: those that ask of the plant share one."""
    alone = [[name] for name in names if name in BENCHES]
    asking = [name for name in names if name in ON_THE_PLANT]
    return [*alone, asking] if asking else alone


def measured(name: str, *, tiny: bool, frames: int = FRAMES) -> list[Row]:
    """Rows of one bench, in an empty database or in one with the plant."""
    if name in BENCHES:
        return BENCHES[name](tiny=tiny)
    return ON_THE_PLANT[name](tiny=tiny, frames=FRAMES_WHEN_TINY if tiny else frames)


def as_table(rows: list[Row]) -> str:
    """The rows in columns."""
    cells = [
        (row.name, f"{row.ours:.4g}", f"{row.baseline:.4g}", row.unit, f"{row.ratio:.3g}", row.bar, row.verdict)
        for row in rows
    ]
    return columns(("name", "ours", "baseline", "unit", "ratio", "bar", "verdict"), cells)


def as_json(rows: list[Row]) -> str:
    """The rows as a JSON list."""
    return json.dumps([asdict(row) | {"verdict": row.verdict} for row in rows])
