"""The pictures of README.md: those that the script makes, small enough, and pages that a small works can answer."""

import re

import pytest
from django.db import connection

from tests import sources, worlds
from tests.deploy.scripts import pictures

LARGEST_KB = 150


def test_the_readme_shows_the_pictures_that_the_script_makes_and_each_is_small():
    shown = set(re.findall(r"\]\(deploy/pictures/(\w+)\.png\)", (sources.BASE / "README.md").read_text()))
    assert shown == {picture.name for picture in pictures.PICTURES}
    assert shown == {file.stem for file in pictures.FOLDER.glob("*.png")}
    assert [file.name for file in pictures.FOLDER.glob("*.png") if file.stat().st_size > LARGEST_KB * 1000] == []


@pytest.mark.django_db
def test_each_question_for_a_code_can_be_asked():
    worlds.a_straight_week()
    with connection.cursor() as cursor:
        for picture in pictures.PICTURES:
            if picture.question:
                cursor.execute(picture.question)
                assert cursor.description[0][0] == "code"
