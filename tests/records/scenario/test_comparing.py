"""The comparison of stories itself: a wrong answer of each kind is found."""

import copy

import pytest

from tests.records.scenario.comparing import STORIES, counted, differences, told

STORY = told(STORIES / "1-straight-week.jsonl")


def right_answers(lines):
    events = []
    for line in lines[1:]:
        if "event" in line:
            due = line.get("expect", {"outcome": "taken"})
            row = {"event": line["event"], "outcome": due["outcome"], "why": due.get("why")}
            events.append(row | {"flags": list(due.get("flags", []))})
    return {
        "events": events,
        "answers": {line["ask"]: copy.deepcopy(line["answer"]) for line in lines if "ask" in line},
    }


@pytest.mark.parametrize("path", sorted(STORIES.glob("*.jsonl")), ids=lambda path: path.stem)
def test_the_answers_in_a_story_are_right_by_themselves(path):
    lines = told(path)
    assert differences(lines, right_answers(lines)) == []
    assert counted(lines) > 10


def test_flags_and_keys_of_ones_own_do_no_harm_and_order_and_case_do_not_count():
    printed = right_answers(STORY)
    printed["events"][0] |= {"outcome": "flagged", "flags": ["reading-outside"], "at": 3}
    for answer in printed["answers"].values():
        if "items" in answer:
            answer["items"] = [row | {"code": row["code"].lower()} for row in reversed(answer["items"])]
    assert differences(STORY, printed) == []


@pytest.mark.parametrize(
    ("question", "spoil"),
    [
        ("where-used", lambda answer: answer["items"].pop()),
        ("where-used", lambda answer: answer["items"].append({"code": "X", "sure": "confirmed"})),
        ("where-used", lambda answer: answer["items"][0].update(ended=True)),
        ("where-used", lambda answer: answer["items"][0].update(code="another")),
        ("where-used", lambda answer: answer["items"][0].pop("sure")),
        ("balance", lambda answer: answer.update(left="0.000001")),
        ("balance", lambda answer: answer.update(over_drawn=not answer["over_drawn"])),
    ],
)
def test_a_wrong_answer_is_found(question, spoil):
    printed = right_answers(STORY)
    named = next(line["ask"] for line in STORY if line.get("question") == question and line["answer"].get("items", [1]))
    spoil(printed["answers"][named])
    assert len(differences(STORY, printed)) == 1


@pytest.mark.parametrize("spoiled", [{"outcome": "refused"}, {"why": "held"}, {"flags": ["held"]}])
def test_a_wrong_outcome_is_found(spoiled):
    printed = right_answers(STORY)
    printed["events"][0] |= spoiled
    if "flags" in spoiled:
        printed["events"][0]["outcome"] = "flagged"
    assert len(differences(STORY, printed)) == 1


def test_an_event_that_is_not_answered_is_found():
    printed = right_answers(STORY)
    del printed["events"][3]
    assert len(differences(STORY, printed)) == 1


def test_limits_may_differ_by_a_thousandth_of_their_width_only():
    lines = told(STORIES / "7-gauge.jsonl")
    named = [line["ask"] for line in lines if line.get("question") == "limits" and line["answer"].get("pieces")]
    for share, found in ((0.0009, 0), (0.0011, 1)):
        printed = right_answers(lines)
        piece = printed["answers"][named[0]]["pieces"][0]
        width = float(piece["upper"]) - float(piece["lower"])
        piece["centre"] = str(float(piece["centre"]) + share * width)
        assert len(differences(lines, printed)) == found
