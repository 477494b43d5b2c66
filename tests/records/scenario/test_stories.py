"""All eight stories of production give their right answers, which come from a separate program.

Stories 1 to 7 were also worked out by hand. All names in them are invented.
"""

import json

import pytest

from records.ledger.commands import CannotAnswer
from records.ledger.verifying import verify
from records.scenario.story.running import read_story, run_story
from tests import sources
from tests.records.scenario.comparing import expected, outcome, same

STORIES = sorted((sources.BASE / "tests" / "data" / "stories").glob("*.jsonl"))


@pytest.mark.django_db
@pytest.mark.parametrize("path", STORIES, ids=lambda path: path.stem)
def test_a_story_gives_its_right_answers(path):
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    told = run_story(read_story(path.read_bytes(), path.name))
    events = {row["event"]: row for row in told["events"]}
    for line in lines[1:]:
        if "event" in line:
            assert outcome(events[line["event"]]) == expected(line), line
        else:
            assert same(told["answers"][line["ask"]], line["answer"]), (line, told["answers"][line["ask"]])


@pytest.mark.django_db
@pytest.mark.parametrize("path", STORIES[:7], ids=lambda path: path.stem)
def test_a_story_leaves_books_that_agree(path):
    run_story(read_story(path.read_bytes(), path.name))
    assert verify().faults == ()


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "does not begin with the head"),
        (b"\x89PNG\r\n\x1a\n\x00\xff", "no text in UTF-8"),
        (b'{"story": "x", "rulebook": {}}\n{"event": 1, "kind": "fly"}', "not known here: fly"),
        (b'{"story": "x", "rulebook": {}}\n{"ask": "q1", "question": "why"}', "not known here: why"),
        (b'{"story": "x", "rulebook": {}}\n{"event": 1, "ki', "Line 2"),
    ],
)
def test_what_is_no_story_is_a_sentence(raw, words):
    with pytest.raises(CannotAnswer, match=words):
        read_story(raw, "x.jsonl")
