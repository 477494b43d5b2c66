"""A trace as commands and files tell it: stable keys, codes, shares as text."""

from __future__ import annotations

from typing import Any

from plant.quantities import print_share
from records.ledger.commands import columns

from .labelling import CONFIRMED, ENDED, POSSIBLE
from .queries import Answer, Found


def told_row(found: Found) -> dict[str, Any]:
    """One thing that was found, under its stable keys."""
    return {
        "code": found.code,
        "kind": found.kind,
        "part": found.part,
        "sure": found.sure,
        "share": None if found.share_ppb is None else print_share(found.share_ppb),
        "ended": found.ended,
        "once": list(found.names.once),
        "place": {"state": found.state, "at": found.at, "held": found.held},
        "path": list(found.way),
    }


def told_answer(command: str, answer: Answer, as_of: str | None) -> dict[str, Any]:
    """A whole trace, under its stable keys."""
    return {
        "command": command,
        "of": answer.names.code,
        "kind": answer.of.part.kind,
        "part": answer.of.part.number,
        "once": list(answer.names.once),
        "as_of": as_of,
        "upto_entry": answer.upto_entry,
        "may_grow": answer.may_grow,
        "cut_off": None if answer.cut_off_ppb is None else print_share(answer.cut_off_ppb),
        "counts": {
            "confirmed": answer.count(CONFIRMED),
            "possible": answer.count(POSSIBLE),
            "ended": answer.count(ENDED),
            "below": len(answer.below),
        },
        "frames": [told_row(found) for found in answer.frames],
        "others": [told_row(found) for found in answer.others],
        "below": [told_row(found) for found in answer.below],
        "loops": answer.loops,
    }


def finding(answer: dict[str, Any]) -> str:
    """What a trace found, in one sentence."""
    frames = answer["frames"]
    sure = sum(row["sure"] == "confirmed" for row in frames)
    doubt = sum(row["sure"] == "possible" for row in frames)
    if not frames:
        return f"No frame on file holds {answer['of']}."
    if not sure:
        return f"{_frames(doubt)} may have {answer['of']}, none surely."
    if not doubt:
        return f"{_frames(sure)} {_have(sure)} {answer['of']}."
    return f"{_frames(sure)} {_have(sure)} {answer['of']}, {doubt} more cannot be ruled out."


def _frames(n: int) -> str:
    return f"{n} frame" if n == 1 else f"{n} frames"


def _have(n: int) -> str:
    return "has" if n == 1 else "have"


def told_table(answer: dict[str, Any]) -> str:
    """A trace for people: the finding, frames, then everything else."""
    down = answer["command"] == "whereused"
    head = (
        finding(answer) if down else f"{answer['of']} is made from {len(answer['frames'] + answer['others'])} things."
    )
    parts = [head]
    if answer["as_of"]:
        parts.append(f"As known on {answer['as_of']}." + (" It may still grow." if answer["may_grow"] else ""))
    if answer["frames"]:
        parts.append(_rows("Frames", answer["frames"]))
    if answer["others"]:
        parts.append(_rows("Not a frame, and still holding it" if down else "Made from", answer["others"]))
    if answer["below"]:
        parts.append(_rows(f"Below the cut-off of {answer['cut_off']}", answer["below"]))
    parts += [f"A loop: {', '.join(loop)} are each made from each other." for loop in answer["loops"]]
    return "\n\n".join(parts)


_SURE = {"confirmed": "has it", "possible": "can't rule out", None: "taken out"}


def _rows(title: str, rows: list[dict[str, Any]]) -> str:
    """A table under its title."""
    cells = [
        (
            row["code"],
            row["part"],
            _SURE[row["sure"]],
            row["share"],
            row["place"]["state"] + (f", {row['place']['at']}" if row["place"]["at"] else ""),
            "held" if row["place"]["held"] else "",
            " > ".join(row["path"]),
        )
        for row in rows
    ]
    return f"{title} ({len(rows)})\n" + columns(("code", "part", "how sure", "share", "where", "", "by way of"), cells)
