"""What a run of a story prints, held against the answers that stand in the story.

The rules: lists without order, but for way, pieces and counts; codes without case; times as instants; amounts exactly;
shares, p, hours and tank amounts to one in a million; limits to a thousandth of their width. Keys of the program's own
do no harm, nor flags that stories do not name; but a key that stories name must not stand where none is expected.
Counted: each question, each event with an expectation, and all other events of a story together as one.
"""

import json
from collections.abc import Callable, Mapping
from datetime import datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

STORIES = Path(__file__).parents[2] / "data" / "stories"
FLAGS = {
    "held", "expired", "not-cleared", "out-of-order", "not-here", "scrapped",
    "over-drawn", "not-booked-in", "loop", "gauge-overdue",
}  # fmt: skip
IN_ORDER = {"way", "pieces", "counts"}
EXACT = {"in", "drawn", "waste", "left", "value", "read", "true", "error"}
NEAR = {"share", "p", "hours", "total", "amount"}
INSTANTS = {"since", "until"}
LIMITS = {"centre", "lower", "upper", "mean_moving_range"}
# Keys of an item's line that say something by being there.
TELLING = {"sure", "share", "ended", "once"}
MILLIONTH = Decimal("1e-6")


def told(path: Path) -> list[dict[str, Any]]:
    """Lines of a story file."""
    return [json.loads(line) for line in path.read_text("utf-8").splitlines() if line.strip()]


def differences(lines: list[dict[str, Any]], printed: Mapping[str, Any]) -> list[str]:
    """What differs, one sentence each; none where every answer is right."""
    came = {row["event"]: row for row in printed["events"]}
    found = [f"event {n} was told and is not answered" for n in events_of(lines) if n not in came]
    for line in lines[1:]:
        if "event" in line and line["event"] in came:
            found += _event(line, came[line["event"]])
        elif "ask" in line:
            answer = printed["answers"].get(line["ask"])
            if not is_same("", answer, line["answer"]):
                found.append(f"{line['ask']} {line['question']}: {answer} in place of {line['answer']}")
    return found


def counted(lines: list[dict[str, Any]]) -> int:
    """How many things of a story are judged."""
    return sum("ask" in line or "expect" in line for line in lines[1:]) + 1


def events_of(lines: list[dict[str, Any]]) -> list[int]:
    return [line["event"] for line in lines[1:] if "event" in line]


def _event(line: Mapping[str, Any], row: Mapping[str, Any]) -> list[str]:
    due = line.get("expect", {"outcome": "taken"})
    flags = set(row["flags"]) & FLAGS
    outcome = "taken" if row["outcome"] == "flagged" and not flags else row["outcome"]
    got = (outcome, row["why"], sorted(flags))
    want = (due["outcome"], due.get("why"), sorted(due.get("flags", [])))
    return [] if got == want else [f"event {line['event']} {line['kind']}: {got} in place of {want}"]


def is_same(key: str, got: Any, due: Any) -> bool:
    """Whether an answer, or a part of it under a key, is the one that is due."""
    if isinstance(due, Mapping):
        return isinstance(got, Mapping) and _same_keys(got, due)
    if isinstance(due, list):
        return isinstance(got, list) and _same_list(key, got, due)
    if due is None or isinstance(due, bool):
        return got is due
    return got is not None and not isinstance(got, bool) and _same_value(key, got, due)


def _same_keys(got: Mapping[str, Any], due: Mapping[str, Any]) -> bool:
    if "code" in due and any(got.get(key) and key not in due for key in TELLING):
        return False
    if any(key not in got for key in due):
        return False
    if due.keys() & LIMITS and not _within_limits(got, due):
        return False
    return all(is_same(key, got[key], value) for key, value in due.items() if key not in LIMITS)


def _within_limits(got: Mapping[str, Any], due: Mapping[str, Any]) -> bool:
    """A thousandth of the width; that of a mean moving range is six times it by 1.128."""
    if due.get("mean_moving_range", "") is None:
        return got["mean_moving_range"] is None
    if due.get("lower", "") is None:
        # A piece without limits: its centre to one in a million.
        return (got["lower"], got["upper"]) == (None, None) and _same_value("amount", got["centre"], due["centre"])
    if "mean_moving_range" in due:
        width = 6 * _number(due["mean_moving_range"]) / Decimal("1.128")
    else:
        width = _number(due["upper"]) - _number(due["lower"])
    return all(abs(_number(got[key]) - _number(due[key])) <= width / 1000 for key in due.keys() & LIMITS)


def _same_list(key: str, got: list, due: list) -> bool:
    if len(got) != len(due):
        return False
    if key in IN_ORDER:
        return all(is_same("", one, other) for one, other in zip(got, due, strict=True))
    left = list(got)
    for wanted in due:
        match = next((one for one in left if is_same("", one, wanted)), None)
        if match is None:
            return False
        left.remove(match)
    return True


def _same_value(key: str, got: Any, due: Any) -> bool:
    rules: list[tuple[set[str], Callable[[Any], Any], Decimal]] = [
        (EXACT, _number, Decimal(0)),
        (NEAR, _number, MILLIONTH),
    ]
    for keys, read, play in rules:
        if key in keys:
            one, other = read(got), read(due)
            return abs(one - other) <= play * max(1, abs(other))
    if key in INSTANTS:
        return datetime.fromisoformat(got) == datetime.fromisoformat(due)
    if isinstance(due, int | float):
        return not isinstance(got, str) and got == due
    return isinstance(got, str) and got.upper() == due.upper()


def _number(text: Any) -> Decimal:
    try:
        return Decimal(str(text))
    except InvalidOperation:
        return Decimal("nan")
