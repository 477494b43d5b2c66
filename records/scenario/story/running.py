"""A whole story: head, events and questions, line by line."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict
from typing import Any

from records.ledger.commands import CannotAnswer
from records.ledger.memory import only_writer
from records.ledger.refusals import Refused

from .asking import ask
from .checking import check_story
from .opening import open_story
from .telling import tell

# For comparing only: a run never reads them.
_SET_APART = ("expect", "answer")


def read_story(raw: bytes, name: str) -> list[dict[str, Any]]:
    """Lines of a story. Raises ``CannotAnswer`` for what is no story."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise CannotAnswer(f"{name} is no text in UTF-8; a story is one JSON object a line.") from wrong
    lines = []
    # Not splitlines: a text in JSON may hold signs that count as an end of line there.
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            told = json.loads(line)
        except (ValueError, RecursionError) as wrong:
            raise CannotAnswer(f"Line {number} of {name} is no JSON object; correct it and tell it again.") from wrong
        if not isinstance(told, dict):
            raise CannotAnswer(f"Line {number} of {name} is no JSON object; correct it and tell it again.")
        lines.append({key: value for key, value in told.items() if key not in _SET_APART})
    if not lines or "rulebook" not in lines[0] or "story" not in lines[0]:
        raise CannotAnswer(f"{name} does not begin with the head of a story (story, works, zone, rulebook).")
    check_story(lines, name)
    return lines


@only_writer()
def run_story(
    lines: Iterable[Mapping[str, Any]], progress: Callable[[Mapping[str, Any]], None] = lambda _line: None
) -> dict[str, Any]:
    """Set an empty works up, tell it each event, answer each question where it stands."""
    head, *told = lines
    try:
        open_story(head)
    except Refused as refused:
        raise CannotAnswer(f"The rulebook of this story can't be set up: {refused}") from refused
    events, answers = [], {}
    for line in told:
        if "event" in line:
            events.append(asdict(tell(line)))
        else:
            answers[line["ask"]] = ask(line)
        progress(line)
    return {"story": head["story"], "events": events, "answers": answers}
