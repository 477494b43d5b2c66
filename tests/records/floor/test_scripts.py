"""The scripts of the floor fit together: each is on the list that a tablet keeps, and what one gives another takes."""

import re

import pytest

from plant.served import lean
from records.floor.tablet import MODULES, WORKER
from tests import sources

FOLDER = sources.BASE / "records" / "floor" / "static" / "floor"
SCRIPTS = {path.name: path.read_text(encoding="utf-8") for path in sorted(FOLDER.glob("*.js"))}
STYLES = [*sorted(FOLDER.glob("*.css")), *sorted((sources.BASE / "plant" / "static" / "plant").glob("*.css"))]
WORDS = re.compile(r"/\*.*?\*/", re.DOTALL)
EXPORT = re.compile(r"^export (?:async )?(?:function\*?|const|let|class) (\w+)", re.MULTILINE)
IMPORT = re.compile(r'import (?:\{([^}]*)\} from )?"\./([\w.]+)"')
# Loaded by pages of their own, or by the page itself; all others are taken by one of them.
BEGIN = {"again.js", "tablet.js", "camera.js", "ringing.js", "door.js"}


def taken(name: str) -> set[tuple[str, str]]:
    """What a script takes of others: (file, name)."""
    found = [(names.split(","), file) for names, file in IMPORT.findall(SCRIPTS[name])]
    return {(file, one.split(" as ")[0].strip()) for names, file in found for one in names}


def asked_by_tests() -> str:
    return " ".join(path.read_text(encoding="utf-8") for path in sources.BASE.glob("tests/browser/*.py"))


def test_what_a_script_gives_is_taken_by_another_or_by_a_test():
    everything = {one for name in SCRIPTS for one in taken(name)}
    tests = asked_by_tests()
    idle = [
        f"{name} {one}"
        for name, text in SCRIPTS.items()
        for one in EXPORT.findall(text)
        if (name, one) not in everything and not (f"floor/{name}" in tests and re.search(rf"\b{one}\b", tests))
    ]
    assert idle == []


@pytest.mark.parametrize("name", sorted(SCRIPTS))
def test_what_a_script_takes_is_given(name):
    given = {(file, one) for file, text in SCRIPTS.items() for one in EXPORT.findall(text)}
    assert {one for one in taken(name) if one[1]} <= given


@pytest.mark.parametrize("name", sorted(SCRIPTS))
def test_a_script_loses_nothing_but_comments_on_its_way_to_a_tablet(name):
    """Lines that begin as a comment are left out by ``plant/served.py``: no text of a script may go over lines."""
    left = [line for line in SCRIPTS[name].splitlines() if not line.lstrip().startswith("//")]
    assert lean(f"floor/{name}", SCRIPTS[name].encode()).decode().splitlines() == left
    assert [line for line in left if line.count("`") % 2] == []


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_a_style_sheet_loses_nothing_but_comments_on_its_way(path):
    """What is left is the sheet without its comments, but for those that stand behind a rule."""
    whole, served = (
        path.read_text(encoding="utf-8"),
        lean(f"{path.parent.name}/{path.name}", path.read_bytes()).decode(),
    )
    assert len(served) < len(whole)
    assert WORDS.sub("", served).split() == WORDS.sub("", whole).split()


def test_a_tablet_keeps_every_script_that_another_takes():
    assert {file for name in SCRIPTS for file, _ in taken(name)} <= set(MODULES) <= SCRIPTS.keys()
    assert SCRIPTS.keys() - {file for name in SCRIPTS for file, _ in taken(name)} <= BEGIN


@pytest.mark.parametrize("name", ["worker.js", *sorted(SCRIPTS)])
def test_whatever_a_script_asks_of_the_server_has_an_end(name):
    """A browser keeps few connections to a site: each that a dead link holds is missing once it is back."""
    text = WORKER.read_text(encoding="utf-8") if name == "worker.js" else SCRIPTS[name]
    asked = [rest.split(";")[0] for rest in re.split(r"\bfetch\(|new Request\(", text)[1:]]
    assert [one for one in asked if "signal" not in one] == []
