"""The eight stories give the answers that stand in them, on the engine of this run."""

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


@pytest.mark.django_db
@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_a_story_gives_its_expected_answers_and_the_book_proves_clean(path):
    printed = run_story(read_story(path.read_bytes(), path.name))
    assert differences(told(path), printed) == []
    seal_all()
    assert verify().faults == ()


def test_there_are_eight_stories():
    assert len(PATHS) == 8


@pytest.mark.django_db(transaction=True, databases="__all__")
def test_the_command_tells_a_story_to_a_store_that_is_thrown_away(settings):
    path = STORIES / "5-rework.jsonl"
    before = dict(settings.DATABASES["default"])
    out = io.StringIO()
    engine = "postgresql" if engines.IS_POSTGRESQL else "sqlite"
    call_command("story", str(path), "--json", "--engine", engine, stdout=out)
    assert differences(told(path), json.loads(out.getvalue())) == []
    assert settings.DATABASES["default"] == before
