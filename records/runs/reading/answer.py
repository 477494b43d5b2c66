"""A recorder file as commands answer it: stable keys, unknown is null."""

from __future__ import annotations

from typing import Any

from .log import RecorderLog


def facts_of(log: RecorderLog) -> dict[str, Any]:
    """What a file says, under the keys of ``readlog``; each value can stand in JSON."""
    return {
        "file": log.name,
        "sha256": log.sha256,
        "rows": log.rows,
        "rows_set_aside": log.rows_set_aside,
        "events": len(log.events),
        "first": log.first,
        "last": log.last,
        "zone": log.zone,
        "clock": log.clock.value,
        "batches": len(log.starts),
        "encoding": log.encoding,
        "delimiter": log.delimiter,
        "decimal": log.decimal,
        "header_line": log.header_line,
        "channels": [
            {
                "name": channel.name,
                "quantity": channel.quantity,
                "unit": channel.unit,
                "n": channel.n,
                "missing": channel.missing,
                "min": channel.minimum,
                "max": channel.maximum,
            }
            for channel in log.channels
        ],
        "problems": problems_of(log),
        "notes": list(log.notes),
    }


def problems_of(log: RecorderLog) -> list[dict[str, Any]]:
    """Everything wrong with the file, by line."""
    return [{"line": problem.line, "kind": problem.kind.value, "words": problem.words} for problem in log.problems]
