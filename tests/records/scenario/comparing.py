"""Answers of a story compared with the right ones: codes without case, times as instants, amounts exactly, lists
without order except where order is the answer."""

from datetime import datetime
from decimal import Decimal, InvalidOperation

NAMED_FLAGS = {
    "held", "expired", "not-cleared", "out-of-order", "not-here", "scrapped",
    "over-drawn", "not-booked-in", "loop", "gauge-overdue",
}  # fmt: skip
IN_ORDER = {"way", "pieces", "counts"}
EXACT = {"in", "drawn", "waste", "left", "value", "read", "true", "error"}
LIMITS = {"centre", "lower", "upper"}


def outcome(told):
    """Outcome, reason and flags of an event once flags of our own are dropped."""
    flags = sorted(set(told["flags"]) & NAMED_FLAGS)
    kind = "taken" if told["outcome"] == "flagged" and not flags else told["outcome"]
    return kind, told["why"], flags


def expected(line):
    """What a story expects of an event."""
    wanted = line.get("expect", {"outcome": "taken"})
    return wanted["outcome"], wanted.get("why"), sorted(wanted.get("flags", []))


def same(got, right, key=""):
    """Whether an answer is the right one."""
    if isinstance(right, dict):
        return isinstance(got, dict) and all(name in got and same(got[name], right[name], name) for name in right)
    if isinstance(right, list):
        return isinstance(got, list) and len(got) == len(right) and _same_rows(got, right, key)
    if isinstance(right, bool) or right is None or got is None:
        return got == right
    return _same_value(str(got), str(right), key)


def _same_rows(got, right, key):
    if key in IN_ORDER:
        return all(same(mine, theirs, key) for mine, theirs in zip(got, right, strict=True))
    rest = list(got)
    for theirs in right:
        match = next((mine for mine in rest if same(mine, theirs, key)), None)
        if match is None:
            return False
        rest.remove(match)
    return True


def _same_value(got, right, key):
    if got.upper() == right.upper():
        return True
    try:
        mine, theirs = Decimal(got), Decimal(right)
    except InvalidOperation:
        return _same_instant(got, right)
    if key in EXACT:
        return mine == theirs
    return abs(mine - theirs) <= (Decimal("0.001") if key in LIMITS else Decimal("0.000001"))


def _same_instant(got, right):
    try:
        return datetime.fromisoformat(got) == datetime.fromisoformat(right)
    except ValueError:
        return False
