"""Files that are no story, and stories that can't be told: a sentence that names the place, exit 2, no traceback."""

import copy
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from records.ledger.commands import CannotAnswer
from records.scenario.story.checking import KINDS, QUESTIONS
from records.scenario.story.running import read_story, run_story
from records.scenario.story.telling import TELLERS
from tests.records.scenario.comparing import STORIES, told

BASE = Path(__file__).parents[3]
WHOLE = (STORIES / "6-corrections.jsonl").read_bytes()
LINES = told(STORIES / "6-corrections.jsonl")
EVERY = [line for path in sorted(STORIES.glob("[1-7]*.jsonl")) for line in told(path)]


def story(*lines):
    return "\n".join(json.dumps(line) for line in lines).encode()


def an_event(kind):
    return copy.deepcopy(next(line for line in EVERY if line.get("kind") == kind))


def refusal(raw):
    with pytest.raises(CannotAnswer) as refused:
        read_story(raw, "week.jsonl")
    assert refused.value.returncode == 2
    sentence = str(refused.value)
    assert "week.jsonl" in sentence
    assert "\n" not in sentence
    return sentence


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "does not begin with the head"),
        (b"\n\n  \n", "does not begin with the head"),
        (WHOLE[: len(WHOLE) // 2], "is no JSON object"),
        (b"\x89PNG\r\n\x1a\n\x00\xff\xfe", "no text in UTF-8"),
        ("Übersicht".encode("latin-1"), "no text in UTF-8"),
        (b"lot,part,quantity\r\nR1,RES-A,20\r\n", "Line 1"),
        (b"[1, 2]\n", "Line 1"),
        (WHOLE.partition(b"\n")[2], "does not begin with the head"),
        (WHOLE + b'\n{"event": 1', "is no JSON object"),
        (b"[" * 100_000, "Line 1"),
    ],
)
def test_a_file_that_is_no_story_is_told_so(raw, words):
    assert words in refusal(raw)


def test_kinds_that_are_told_are_those_that_are_checked():
    assert KINDS.keys() == TELLERS.keys()


def test_a_text_may_hold_a_sign_that_elsewhere_ends_a_line():
    event = an_event("hold") | {"why": "one\u2028two"}
    raw = (json.dumps(LINES[0]) + "\n" + json.dumps(event, ensure_ascii=False)).encode()
    assert read_story(raw, "week.jsonl")[1]["why"] == "one\u2028two"


def test_an_unknown_kind_and_an_unknown_question_are_named():
    assert "Event 7 of week.jsonl is of a kind not known here: melt" in refusal(
        story(LINES[0], an_event("hold") | {"event": 7, "kind": "melt"})
    )
    assert "Question q9 of week.jsonl is not known here: why" in refusal(
        story(LINES[0], {"ask": "q9", "question": "why"})
    )
    assert "neither an event nor a question" in refusal(story(LINES[0], {"kind": "hold"}))


FIELDS = [
    (kind, field)
    for kind in sorted(KINDS)
    for field in ["key", "happened", "arrived", "by", *KINDS[kind]]
    if not field.endswith("?")
]


@pytest.mark.parametrize(("kind", "field"), FIELDS)
def test_a_field_that_is_missing_or_of_another_type_is_named_with_its_event(kind, field):
    event = an_event(kind)
    for spoiled in ({}, {field: 12.5}, {field: [None]}, {field: None}):
        wrong = {key: value for key, value in event.items() if key != field} | spoiled
        sentence = refusal(story(LINES[0], wrong))
        assert f"Event {event['event']} of week.jsonl" in sentence
        assert f" {field}" in sentence


@pytest.mark.parametrize(
    ("kind", "spoiled", "field"),
    [
        ("hold", {"key": "not a key"}, "key"),
        ("hold", {"arrived": "yesterday"}, "arrived"),
        ("hold", {"done": "yes"}, "done"),
        ("hold", {"event": "7"}, "event"),
        ("receive", {"expires": "soon"}, "expires"),
        ("receive", {"lot": "R\u00001"}, "lot"),
        ("receive", {"lot": "R\ud800"}, "lot"),
        ("calibration", {"due": 20270630}, "due"),
        ("measure", {"value": 34.9}, "value"),
        ("wind", {"spools": [{"lot": "S1"}]}, "spools"),
        ("wind", {"spools": [{"lot": "S1", "quantity": "5 g", "possible": "1.5"}]}, "spools"),
        ("wind", {"spools": [{"lot": "S1", "quantity": "5 g", "possible": "nan"}]}, "spools"),
        ("wind", {"spools": {"lot": "S1", "quantity": "5 g"}}, "spools"),
        ("ship", {"units": [1]}, "units"),
    ],
)
def test_a_field_that_can_not_be_read_is_named(kind, spoiled, field):
    sentence = refusal(story(LINES[0], an_event(kind) | spoiled))
    assert f"has a {field} that can't be read" in sentence


@pytest.mark.parametrize("name", sorted(QUESTIONS))
def test_a_question_that_can_not_be_read_names_the_field(name):
    asked = {"ask": "q1", "question": name}
    for field in QUESTIONS[name]:
        if field.endswith("?"):
            continue
        assert f"Question q1 of week.jsonl has no {field}" in refusal(story(LINES[0], asked))
        asked[field] = ["lot"] if field in ("among", "bad") else "X"
    assert "known" in refusal(story(LINES[0], asked | {"known": "some day"}))


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda head: head.pop("zone"), "has no zone"),
        (lambda head: head.update(works=" "), "has a works that can't be read"),
        (lambda head: head.update(rulebook=[]), "has a rulebook that can't be read"),
        (lambda head: head["rulebook"].update(people="marta"), "has a people that can't be read"),
        (lambda head: head["rulebook"].update(parts={"part": "X"}), "has parts that can't be read"),
        (lambda head: head["rulebook"]["parts"].append("X"), "fields with names are due"),
        (lambda head: head["rulebook"]["parts"].append({"part": "X"}), "has no kind"),
        (lambda head: head["rulebook"]["parts"].append(head["rulebook"]["parts"][0]), "twice"),
        (lambda head: head["rulebook"]["mixes"][0].update(pot_life_min="long"), "has a pot_life_min"),
        (lambda head: head["rulebook"].update(routes={"TUBE": "wind"}), "has a routes"),
        (lambda head: head["rulebook"].update(cut_off="little"), "has a cut_off"),
    ],
)
def test_a_head_that_can_not_be_read_names_the_place(spoil, words):
    head = copy.deepcopy(LINES[0])
    spoil(head)
    assert words in refusal(story(head))


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda head: head.update(zone="Middle/Nowhere"), "no time zone"),
        (lambda head: head["rulebook"]["parts"][0].update(kind="cheese"), "no kind of part"),
        (lambda head: head["rulebook"]["parts"][0].update(unit="stone"), "no unit"),
        (lambda head: head["rulebook"].update(routes={"GHOST": ["wind"]}), "No part is called GHOST"),
        (lambda head: head["rulebook"]["mixes"][0].update(tolerance="a little"), "can't be read as a number"),
        (lambda head: head["rulebook"]["people"].append(head["rulebook"]["people"][0].upper()), "is taken"),
    ],
)
def test_a_rulebook_that_can_not_be_set_up_says_why(spoil, words):
    head = copy.deepcopy(LINES[0])
    spoil(head)
    with pytest.raises(CannotAnswer, match=words):
        run_story(read_story(story(head), "week.jsonl"))


@pytest.mark.django_db
def test_what_is_no_key_names_no_entry():
    lines = [LINES[0], an_event("lift") | {"of": "yesterday's hold"}]
    row = run_story(read_story(story(*lines), "week.jsonl"))["events"][0]
    assert (row["outcome"], row["why"]) == ("refused", "unknown")


@pytest.mark.django_db
def test_suspects_without_a_trait_and_among_what_is_no_frame_and_times_without_an_offset():
    lines = [dict(line) for line in told(STORIES / "12-built-anew.jsonl") if "ask" not in line]
    for line in lines[1:]:
        line.pop("tool", None)
        line["arrived"] = line["arrived"].removesuffix("Z")
    asked = {"question": "suspects", "among": ["tool"]}
    lines += [asked | {"ask": "q1", "bad": ["X2"]}, asked | {"ask": "q2", "bad": ["R1"]}]
    bonded = next(line for line in lines if line.get("kind") == "bond")["arrived"]
    known = {"question": "status", "of": "X1"}
    lines += [known | {"ask": "q3", "known": f"{bonded}Z"}, known | {"ask": "q4", "known": bonded}]
    answers = run_story(read_story(story(*lines), "week.jsonl"))["answers"]
    assert answers["q1"] == {"first": None, "tied": [], "p": None, "counts": None}
    assert answers["q2"] == {"none": "wrong-kind"}
    # Without an offset it is the works' clock, an hour behind in winter.
    assert (answers["q3"]["known"], answers["q4"]["known"]) == (True, False)


@pytest.mark.parametrize(
    "raw",
    [WHOLE[:3000], bytes(range(256)), story(LINES[0], an_event("mix") | {"inputs": 3})],
    ids=["cut", "bytes", "field"],
)
def test_the_command_ends_with_one_sentence_and_exit_2(tmp_path, raw):
    path = tmp_path / "week.jsonl"
    path.write_bytes(raw)
    environment = {key: value for key, value in os.environ.items() if not key.endswith("DATABASE_URL")}
    done = subprocess.run(
        [sys.executable, "manage.py", "story", str(path), "--json"],
        cwd=BASE, capture_output=True, text=True, check=False, env=environment,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert "week.jsonl" in done.stderr
