"""What README and DEVELOPERS say about the program is so."""

import ast
import re

from django.core.management import get_commands, load_command_class

from plant.people.rights import RIGHTS
from tests import sources

README = (sources.BASE / "README.md").read_text()
DEVELOPERS = (sources.BASE / "DEVELOPERS.md").read_text()
ROW = re.compile(r"^\| ([a-z -]+) \| `(\w+)` \| (\w+/\w+) \|$", re.MULTILINE)


def test_the_readme_begins_with_the_job_and_then_the_two_commands():
    first, second = (README.index(f"python3 deploy/{script}") for script in ("try.py", "test.py"))
    assert README.index("which frames hold any part of one resin batch") < first < second


def test_every_script_that_the_documents_name_exists():
    named = set(re.findall(r"\b(?:deploy|plant|records|tests)/[\w./-]*\w", README + DEVELOPERS))
    assert {name for name in named if not (sources.BASE / name).exists()} == set()


def test_every_command_that_the_readme_names_exists_with_its_options():
    ours = get_commands()
    named = re.findall(r"manage\.py ([a-z]+)([^`\n]*)", README)
    assert named
    for name, rest in named:
        assert name in ours, name
        help_text = load_command_class(ours[name], name).create_parser("manage.py", name).format_help()
        for option in re.findall(r"--[\w-]+", rest):
            assert option in help_text, f"{name} {option}"


def test_every_command_of_ours_is_in_the_readme():
    ours = {name for name, app in get_commands().items() if str(app).startswith(("plant", "records"))}
    assert {name for name in ours if f"`manage.py {name}" not in README} == set()


def test_every_option_of_the_two_scripts_that_the_readme_names_exists():
    scripts = "".join((sources.BASE / "deploy" / name).read_text() for name in ("try.py", "test.py"))
    named = set(re.findall(r"`(--[\w-]+)(?: \w+)?`", README)) - {"--json", "--help"}
    assert {option for option in named if f'"{option}"' not in scripts} == set()


def test_every_act_has_a_right_and_every_right_an_act():
    assert {kind for kind, _, _ in sources.acts()} == set(RIGHTS)


def test_the_table_of_acts_is_the_programs():
    assert set(ROW.findall(DEVELOPERS)) == sources.acts()


def test_every_public_act_is_told_by_a_docstring():
    made = {(name, room) for _, name, room in sources.acts() if not name.startswith("_")}
    for path in sources.files(".py", below=("plant", "records")):
        room = "/".join(path.relative_to(sources.BASE).parts[:2])
        for node in ast.parse(path.read_text()).body:
            if isinstance(node, ast.FunctionDef) and (node.name, room) in made:
                assert ast.get_docstring(node), f"{path.name}: {node.name}"
