"""Gather what the floor says, so that it can be said in Italian and German too.

    .venv/bin/python deploy/words.py            brings plant/locale up to date; says what is not translated yet
    .venv/bin/python deploy/words.py --check    changes nothing; 1 where something is missing or out of date

A sentence is its own name. In Python it stands in ``_()``, ``gettext()``, ``Refused()`` or ``refuse_or_flag()``, or
under a name that is given to one of them in the same function or file; in a template in ``translate`` or
``blocktranslate``, in a script of the floor in ``say()`` or ``noop()``. Trade words that records hold are listed in
``plant/trade_words.py``. Needs what the tests need.
"""

from __future__ import annotations

import argparse
import ast
import os
import re
import sys
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path

BASE = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(BASE))
LOCALE = BASE / "plant" / "locale"
LANGUAGES = ("de", "it")
# Place of the sentence among the arguments of a call.
CALLS = {
    "_": 0,
    "say": 0,
    "noop": 0,
    "gettext": 0,
    "gettext_lazy": 0,
    "gettext_noop": 0,
    "Refused": 1,
    "Conflict": 1,
    "refuse_or_flag": 1,
}
# The page that stands in for any other without a link, and the parts that it takes: a script says them.
SHELL = ("shell.html", "_turning.html")
# Rooms that nobody meets on the floor.
NOT_ON_THE_FLOOR = ("records/spc/", "records/scenario/", "records/runs/reading/", "/management/", "/migrations/")
MADE = datetime(2026, 11, 26, tzinfo=UTC)  # the same sentences make the same bytes
HEAD = """\
# What the floor of Framethread says. Native speakers of the trade are to look it over before a works relies on
# it, and whoever answers for safety there the cautions. Instructions stand in the infinitive and address nobody;
# the terms to keep to stand in DEVELOPERS.md, "Words of the floor"."""
PLACE = re.compile(r"%\((\w+)\)s")


def of_python() -> Iterator[str]:
    """Sentences of the program."""
    for _path, told, given in _told_in_python():
        yield from _written(told, given)


def not_gathered() -> Iterator[str]:
    """What is told in Python and can't be followed to a sentence from where it is told: file, and how it is told."""
    for path, told, given in _told_in_python():
        if not any(_written(told, given)):
            yield f"{path} {ast.unparse(told)}"


Given = dict[str, list[ast.expr]]


def _told_in_python() -> Iterator[tuple[str, ast.expr, Given]]:
    """What each call tells that says a sentence, with the file and what the names in reach are given there."""
    for path in sorted([*BASE.glob("plant/**/*.py"), *BASE.glob("records/**/*.py")]):
        name = str(path.relative_to(BASE))
        if not any(part in name for part in NOT_ON_THE_FLOOR):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            for told, given in _told_in(tree, _given_in(tree.body)):
                yield name, told, given


def _told_in(scope: ast.AST, given: Given) -> Iterator[tuple[ast.expr, Given]]:
    for node in ast.iter_child_nodes(scope):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            at = CALLS.get(name, len(node.args))
            if at < len(node.args):
                yield node.args[at], given
        within = given | _given_in(ast.walk(node)) if isinstance(node, ast.FunctionDef) else given
        yield from _told_in(node, within)


def _given_in(nodes: Iterable[ast.AST]) -> Given:
    """What names are given: all of it, where a name is given several."""
    found: Given = {}
    for node in nodes:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            found.setdefault(node.targets[0].id, []).append(node.value)
    return found


def _written(told: ast.expr, given: Given) -> Iterator[str]:
    """The sentences that an expression stands for."""
    match told:
        case ast.Constant(value=str(words)) if words:
            yield words
        case ast.IfExp(body=one, orelse=other):
            yield from _written(one, given)
            yield from _written(other, given)
        case ast.Call(args=[first, *_]) if getattr(told.func, "id", "") in CALLS:
            yield from _written(first, given)
        case ast.Name(id=name):
            for value in given.get(name, ()):
                yield from _written(value, {})


def of_templates(pattern: str = "*.html") -> Iterator[str]:
    """Sentences of the pages."""
    from django.template.base import Node
    from django.template.loader import get_template
    from django.templatetags.i18n import BlockTranslateNode, TranslateNode

    for path in sorted((BASE / "templates").rglob(pattern)):
        page = get_template(str(path.relative_to(BASE / "templates"))).template  # type: ignore[attr-defined]
        for node in page.nodelist.get_nodes_by_type(Node):
            if isinstance(node, TranslateNode):
                yield str(node.filter_expression.var.literal)
            elif isinstance(node, BlockTranslateNode):
                for tokens in filter(None, (node.singular, node.plural)):
                    words = node.render_token_list(tokens)[0]
                    yield re.sub(r"\s+", " ", words).strip() if node.trimmed else words


def of_scripts() -> Iterator[str]:
    """Sentences of the tablet's scripts."""
    from babel.messages.extract import extract_from_file

    for path in sorted(BASE.glob("records/floor/static/floor/*.js")):
        for _line, words, _comments, _context in extract_from_file(
            "javascript", str(path), {"say": None, "noop": None}
        ):
            yield words if isinstance(words, str) else words[0]


def gathered() -> dict[str, list[str]]:
    """Sentences by catalog."""
    from plant.pictures.states import STATES
    from plant.trade_words import WORDS
    from records.items.reasons import CAUSES, CHOSEN

    pages = {*of_python(), *of_templates(), *WORDS} - {"%(words)s"}  # a sentence that is only a place has no words
    reasons = {*CHOSEN.values(), *(cause.word for cause in CAUSES.values())}
    said = {cause.said for cause in CAUSES.values() if cause.said}
    states = {state for _, _, state in STATES.values()}
    return {
        "django": sorted({*pages, *reasons, *said, *states}),
        "djangojs": sorted({*of_scripts(), *(one for page in SHELL for one in of_templates(page)), *WORDS, *reasons}),
    }


def brought_up(language: str, domain: str, sentences: list[str], *, write: bool) -> list[str]:
    """Bring a catalog up to date, or look only; what is wrong with it, a line each."""
    from babel.messages.catalog import Catalog
    from babel.messages.mofile import read_mo, write_mo
    from babel.messages.pofile import read_po, write_po

    path = LOCALE / language / "LC_MESSAGES" / f"{domain}.po"
    before: dict[str, str] = {}
    both = sorted(path.parent.glob("*.po"), key=path.__eq__)  # what both say is said alike; its own words last
    for one in both if write else filter(Path.exists, [path]):
        with one.open("rb") as file:
            before |= {str(one.id): str(one.string) for one in read_po(file) if one.id and one.string}
    catalog = Catalog(
        language,
        project="Framethread",
        version="1",
        header_comment=HEAD,
        last_translator="nobody yet who grew up with this language",
        language_team="the works",
        msgid_bugs_address="the works",
        fuzzy=False,
        charset="utf-8",
        creation_date=MADE,
        revision_date=MADE,
    )
    problems = [f"{language}: {words!r} has no words" for words in sentences if not before.get(words)]
    for words in sentences:
        catalog.add(words, before.get(words, ""))
    for words in sentences:
        said = before.get(words)
        if said and set(PLACE.findall(words)) != set(PLACE.findall(str(said))):
            problems.append(f"{language}: {words!r} has other places than {said!r}")
    if write:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("wb") as file:
            write_po(file, catalog, width=118, sort_output=True, omit_header=False)
        with path.with_suffix(".mo").open("wb") as file:
            write_mo(file, catalog)
        return problems
    problems += [f"{language}: {words!r} is said nowhere any more" for words in before if words not in set(sentences)]
    compiled = {}
    if path.with_suffix(".mo").exists():
        with path.with_suffix(".mo").open("rb") as file:
            compiled = {message.id: message.string for message in read_mo(file) if message.id}
    if compiled != {words: said for words, said in before.items() if said}:
        problems.append(f"{language}: {domain}.mo is not what {domain}.po says")
    return problems


def main() -> int:
    """Bring the catalogs up to date, or look whether they are."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--check", action="store_true", help="change nothing")
    options = parser.parse_args()
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "plant.settings")
    os.environ.setdefault("DEBUG", "1")
    django.setup()
    problems = [
        problem
        for language in LANGUAGES
        for domain, sentences in gathered().items()
        for problem in brought_up(language, domain, sentences, write=not options.check)
    ]
    print("\n".join(problems) or "Everything is said in every language.")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
