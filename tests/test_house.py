"""The house rules that a machine can hold: size of files, words that have no place, where settings are read."""

import ast
import re

import pytest

from tests import sources

LONGEST = 400
LONGEST_PAGE = 150
TEXT = (".py", ".html", ".js", ".css", ".md", ".txt", ".toml", ".example", "", ".svg")
# Assembled here, so that this file itself does not hold them.
OUT_OF_PLACE = re.compile(
    "|".join(["/" + "work/", "seed" + " document", "shared" + "/", "/tmp" + "/ft", "TO" + "DO", "FIX" + "ME"])
)
MADE_BY_TOOLS = {"requirements.txt"}


def name(path):
    return str(path.relative_to(sources.BASE))


@pytest.mark.parametrize("path", sources.files(".py", ".js", ".css", ".md"), ids=name)
def test_a_file_is_short_or_says_why_not(path):
    lines = path.read_text().splitlines()
    if len(lines) > LONGEST:
        assert any("long because" in line.lower() for line in lines[:12]), f"{len(lines)} lines"


def test_a_template_is_short_and_holds_no_style_or_script():
    inline = re.compile(r'\sstyle="|<style|\son\w+="|<script(?![^>]*\ssrc=)')
    texts = {name(path): path.read_text() for path in sources.files(".html")}
    assert [page for page, text in texts.items() if len(text.splitlines()) > LONGEST_PAGE] == []
    assert [page for page, text in texts.items() if inline.search(text)] == []


def test_a_comment_in_a_template_ends_on_its_line():
    # Django prints a longer one on the page.
    lines = [(name(path), line) for path in sources.files(".html") for line in path.read_text().splitlines()]
    assert [(page, line) for page, line in lines if line.count("{#") != line.count("#}")] == []


def test_no_file_holds_words_that_have_no_place_here():
    found = [
        f"{name(path)}: {match[0]}"
        for path in sources.files(*TEXT)
        if path.name not in MADE_BY_TOOLS
        for match in [OUT_OF_PLACE.search(path.read_text())]
        if match
    ]
    assert found == []


def test_every_file_of_code_says_what_it_knows():
    silent = [
        name(path)
        for path in sources.files(".py", below=("plant", "records", "deploy", "tests"))
        if path.name not in ("__init__.py", "apps.py") and "migrations" not in path.parts
        if ast.get_docstring(ast.parse(path.read_text())) is None
    ]
    assert silent == []


def test_settings_are_read_in_one_place():
    readers = [
        name(path)
        for path in sources.files(".py", below=("plant", "records"))
        if re.search(
            r"os\.environ\b(?!\.setdefault\(\"DJANGO_SETTINGS_MODULE\")|os\.getenv|environ\.Env", path.read_text()
        )
    ]
    assert readers == ["plant/settings.py"]


def test_nothing_is_called_by_a_name_that_says_nothing():
    vague = {"utils", "common", "core", "base", "misc", "services", "helpers", "managers"}
    assert [name(p) for p in sources.files(".py", below=("plant", "records")) if vague & {p.stem, *p.parts}] == []
