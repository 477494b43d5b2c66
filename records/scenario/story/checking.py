"""Whether a story can be told at all: every field is there and of its type, before anything is written.

What is wrong with what happened is for the actions to refuse; here stands only what no action could read.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from plant.codes import fold
from records.ledger.commands import CannotAnswer

Check = Callable[[Any], bool]


def is_text(value: Any) -> bool:
    """Text that every engine can store: no NUL, no half of a pair of surrogates."""
    return isinstance(value, str) and "\0" not in value and not any("\ud800" <= sign <= "\udfff" for sign in value)


def is_texts(value: Any) -> bool:
    return isinstance(value, list) and all(map(is_text, value))


def _reads(read: Callable[[str], object]) -> Check:
    def check(value: Any) -> bool:
        try:
            read(value if is_text(value) else "")
        except (ValueError, InvalidOperation):
            return False
        return True

    return check


def is_share(value: Any) -> bool:
    return _reads(Decimal)(value) and Decimal(value).is_finite() and 0 <= Decimal(value) <= 1


def is_inputs(value: Any) -> bool:
    return isinstance(value, list) and not any(_faults(one, INPUT) for one in value)


def is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def is_flag(value: Any) -> bool:
    return isinstance(value, bool)


def is_minutes(value: Any) -> bool:
    return (is_whole(value) and value > 0) or (is_text(value) and value.isascii() and value.isdigit())


def is_ratio(value: Any) -> bool:
    return isinstance(value, dict) and bool(value) and is_texts([*value, *value.values()])


def is_routes(value: Any) -> bool:
    return (
        isinstance(value, dict) and is_texts(list(value)) and all(names and is_texts(names) for names in value.values())
    )


def is_traits(value: Any) -> bool:
    return is_texts(value) and bool(value) and set(value) <= {"lot", "tool", "person"}


is_key, is_day, is_instant = _reads(UUID), _reads(date.fromisoformat), _reads(datetime.fromisoformat)

# A field that may be left out, or be null, ends in a question mark.
INPUT: dict[str, Check] = {"lot": is_text, "quantity": is_text, "possible?": is_share, "part?": is_text}
EVENT: dict[str, Check] = {
    "event": is_whole,
    "key": is_key,
    "happened": is_text,
    "arrived": is_instant,
    "by": is_text,
    "kind": is_text,
    "station?": is_text,
    "done?": is_flag,
    "why?": is_text,
}
MADE: dict[str, Check] = {"unit": is_text, "part": is_text, "tool?": is_text}
KINDS: dict[str, dict[str, Check]] = {
    "receive": {"lot": is_text, "part": is_text, "quantity": is_text, "supplier?": is_text, "expires?": is_day},
    "accept": {"lot": is_text},
    "split": {"lot": is_text, "into": is_inputs},
    "merge": {"from": is_inputs, "into": is_text},
    "mix": {"mix": is_text, "pot": is_text, "inputs": is_inputs},
    "tank-charge": {"tank": is_text} | INPUT,
    "tank-draw": {"tank": is_text, "into": is_text, "quantity": is_text},
    "tank-clean": {"tank": is_text},
    "wind": MADE | {"spools": is_inputs},
    "mould": MADE | {"preforms": is_texts, "fill": is_inputs, "inserts?": is_inputs},
    "step": {"unit": is_text, "step": is_text, "tool?": is_text},
    "bond": MADE | {"front": is_text, "rear": is_text, "adhesive": is_inputs},
    "measure": {"unit": is_text, "characteristic": is_text, "value?": is_text, "gauge?": is_text},
    "hold": {"item": is_text},
    "lift": {"of": is_text},
    "rework-remove": {"unit": is_text, "item": is_text},
    "rework-add": {"unit": is_text, "item?": is_text, "lot?": is_text},
    "renumber": {"unit": is_text, "to": is_text},
    "scrap": {"item": is_text, "quantity?": is_text},
    "send-out": {"units": is_texts, "to": is_text},
    "ship": {"units": is_texts, "to": is_text},
    "come-back": {"units": is_texts, "station": is_text},
    "use-late": {"item": is_text} | INPUT,
    "correct-link": {"of": is_text, "was": is_text, "is": is_text, "part?": is_text},
    "withdraw": {"of": is_text, "was?": is_text},
    "correct-measurement": {"of": is_text, "value?": is_text, "gauge?": is_text, "second?": is_text},
    "calibration": {"gauge": is_text, "result": is_text, "error?": is_text, "due?": is_day},
    "break": {"characteristic": is_text},
}
TRACE: dict[str, Check] = {"of": is_text, "only?": is_texts, "ended?": is_flag}
OF: dict[str, Check] = {"of": is_text}
SPAN: dict[str, Check] = {"of": is_text, "from": is_text, "to": is_text}
QUESTIONS: dict[str, dict[str, Check]] = {
    "where-used": TRACE,
    "made-from": TRACE,
    "loops": {},
    "balance": OF,
    "tank": OF,
    "place": {"of": is_texts},
    "status": OF,
    "gauge": OF,
    "tool": SPAN,
    "recorded": OF,
    "look-alikes": OF,
    "suspects": {"bad": lambda value: is_texts(value) and bool(value), "among": is_traits},
    "limits": OF,
    "verdict": {"of": is_text, "characteristic": is_text},
    "hours": SPAN,
    "way": OF,
}
HEAD: dict[str, Check] = {
    "story": is_text,
    "works": lambda value: is_text(value) and bool(value.strip()),
    "zone": is_text,
    "rulebook": lambda value: isinstance(value, dict),
}
BOUND: dict[str, Check] = {f"{name}?": is_text for name in ("nominal", "plus", "minus", "lower", "upper")}
LISTS: dict[str, dict[str, Check]] = {
    "parts": {"part": is_text, "kind": is_text, "unit?": is_text},
    "mixes": {"mix": is_text, "part": is_text, "of": is_ratio, "tolerance?": is_text, "pot_life_min": is_minutes},
    "tanks": {"tank": is_text, "part": is_text},
    "stations": {"station": is_text},
    "tools": {"tool": is_text, "kind?": is_text},
    "gauges": {"gauge": is_text, "due?": is_day},
    "characteristics": {"characteristic": is_text, "part": is_text, "unit": is_text} | BOUND,
}


def check_story(lines: list[dict[str, Any]], name: str) -> None:
    """Raise ``CannotAnswer`` for the first line that can't be read, with its name and the field."""
    _check_head(lines[0], name)
    for told in lines[1:]:
        if "event" in told:
            where = f"Event {told['event']} of {name}"
            _check(told, EVENT, where)
            if told["kind"] not in KINDS:
                raise CannotAnswer(f"{where} is of a kind not known here: {told['kind']}.")
            _check_event(told, where)
        elif "ask" in told:
            where = f"Question {told['ask']} of {name}"
            _check(told, {"ask": is_text, "question": is_text, "known?": is_instant}, where)
            if told["question"] not in QUESTIONS:
                raise CannotAnswer(f"{where} is not known here: {told['question']}.")
            _check(told, QUESTIONS[told["question"]], where)
        else:
            raise CannotAnswer(f"A line of {name} is neither an event nor a question: {', '.join(told) or 'empty'}.")


def _check_event(told: Mapping[str, Any], where: str) -> None:
    _check(told, KINDS[told["kind"]], f"{where} ({told['kind']})")
    if told["kind"] == "rework-add" and told.get("lot"):
        _check(told, INPUT, f"{where} (rework-add)")


def _check_head(head: Mapping[str, Any], name: str) -> None:
    _check(head, HEAD, f"The head of {name}")
    rules = head["rulebook"]
    where = f"The rulebook of {name}"
    _check(rules, {"people?": is_texts, "routes?": is_routes, "cut_off?": is_share}, where)
    for key, fields in LISTS.items():
        rows = rules.get(key) or []
        if not isinstance(rows, list):
            raise CannotAnswer(f"{where} has {key} that can't be read: a list is due.")
        for n, row in enumerate(rows, start=1):
            _check(row, fields, f"{where}, {key} {n},")
        _name_once([tuple(fold(row[field]) for field in _names(key)) for row in rows], f"{where}, {key},")


def _names(key: str) -> tuple[str, ...]:
    """What names a row of a list of the rulebook."""
    first = next(iter(LISTS[key]))
    return (first, "part") if key == "characteristics" else (first,)


def _name_once(names: Iterable[tuple[str, ...]], where: str) -> None:
    twice = [name[0] for name, count in Counter(names).items() if count > 1]
    if twice:
        raise CannotAnswer(f"{where} names {twice[0]} twice.")


def _check(told: Any, fields: Mapping[str, Check], where: str) -> None:
    for field in _faults(told, fields):
        if not isinstance(told, dict):
            raise CannotAnswer(f"{where} can't be read: fields with names are due.")
        if told.get(field) is None:
            raise CannotAnswer(f"{where} has no {field}; write it.")
        raise CannotAnswer(f"{where} has a {field} that can't be read: {told[field]!r:.80}. Write it anew.")


def _faults(told: Any, fields: Mapping[str, Check]) -> list[str]:
    """Fields that are missing or not as they should be."""
    if not isinstance(told, dict):
        return ["fields"]
    found = []
    for field, check in fields.items():
        name, may_lack = field.removesuffix("?"), field.endswith("?")
        if told.get(name) is None:
            found += [] if may_lack else [name]
        elif not check(told[name]):
            found.append(name)
    return found
