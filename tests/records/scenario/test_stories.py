"""Every story gives the answers that stand in it, on the engine of this run.

Stories 1 to 8 came with their answers from a slow, separate program. Those from 9 on are our own, a few lines each, and
worked out by hand from the same rules: what a program would most likely get wrong.
"""

import io
import json

import pytest
from django.core.management import call_command

from records.ledger.sealing import seal_all
from records.ledger.verifying import verify
from records.scenario.story.running import read_story, run_story
from tests import engines
from tests.records.scenario.comparing import STORIES, differences, told

PATHS = sorted(STORIES.glob("*.jsonl"))
LONG = 100_000  # bytes of a story of weeks
# On the plant's own engine it is told where long walks are asked for; all others are on both.
OF_WEEKS = [pytest.mark.long, *([pytest.mark.unhurried] if engines.IS_POSTGRESQL else [])]
EACH = [pytest.param(path, id=path.stem, marks=OF_WEEKS if path.stat().st_size > LONG else []) for path in PATHS]


@pytest.mark.django_db
@pytest.mark.parametrize("path", EACH)
def test_a_story_gives_its_expected_answers_and_the_book_proves_clean(path):
    printed = run_story(read_story(path.read_bytes(), path.name))
    assert differences(told(path), printed) == []
    seal_all()
    assert verify().faults == ()


def test_stories_are_numbered_without_a_gap():
    assert sorted(int(path.stem.partition("-")[0]) for path in PATHS) == list(range(1, len(PATHS) + 1))
    assert len(PATHS) == 13


@pytest.mark.django_db(transaction=True, databases="__all__")
def test_the_command_tells_a_story_to_a_store_that_is_thrown_away(settings):
    path = STORIES / "5-rework.jsonl"
    before = dict(settings.DATABASES["default"])
    out = io.StringIO()
    engine = "postgresql" if engines.IS_POSTGRESQL else "sqlite"
    call_command("story", str(path), "--json", "--engine", engine, stdout=out)
    assert differences(told(path), json.loads(out.getvalue())) == []
    assert settings.DATABASES["default"] == before
