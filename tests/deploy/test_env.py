"""The list of settings and the settings that are read are the same."""

import re

from tests.sources import BASE

READ = re.compile(r'\benv\.\w+\(\s*"(\w+)"')
LISTED = re.compile(r"^(?:# )?([A-Z_]+)=", re.MULTILINE)
EXAMPLE = (BASE / "deploy" / "env.example").read_text()


def test_every_setting_that_is_read_is_listed_and_no_other():
    assert sorted(LISTED.findall(EXAMPLE)) == sorted(set(READ.findall((BASE / "plant" / "settings.py").read_text())))


def test_every_setting_is_told_by_a_sentence_above_it():
    for block in EXAMPLE.strip().split("\n\n")[1:]:
        *words, setting = block.splitlines()
        assert LISTED.match(setting), setting
        assert [line for line in words if not line.startswith("# ")] == [], setting
        assert words[-1].endswith("."), setting
