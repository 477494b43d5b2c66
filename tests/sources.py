"""The program read as text: its files, and the acts that its actions make."""

import ast
from collections.abc import Iterator
from pathlib import Path

BASE = Path(__file__).resolve().parent.parent
OURS = ("plant", "records", "templates", "tests", "deploy")
NOT_WRITTEN_HERE = {"static/vendor", "static/fonts", "tests/data", "tests/reference", "__pycache__"}


def files(*suffixes: str, below: tuple[str, ...] = OURS) -> list[Path]:
    """Files that are written here, by suffix."""
    found = [path for place in below for path in (BASE / place).rglob("*") if path.suffix in suffixes]
    if below == OURS:
        # In a second working tree .git is a file, and none of ours.
        found += [path for path in BASE.iterdir() if path.suffix in suffixes and path.name != ".git"]
    return sorted(path for path in found if path.is_file() and not any(part in str(path) for part in NOT_WRITTEN_HERE))


def acts() -> set[tuple[str, str, str]]:
    """Kind, function and room of every ``with act("kind", ...)`` in the program.

    Where the kind is an argument of a private function, it is the one that each caller in the same file gives.
    """
    return {found for path in files(".py", below=("plant", "records")) for found in _acts_of(path)}


def _acts_of(path: Path) -> Iterator[tuple[str, str, str]]:
    room = "/".join(path.relative_to(BASE).parts[:2])
    functions = [node for node in ast.parse(path.read_text()).body if isinstance(node, ast.FunctionDef)]
    for function in functions:
        for kind in _first_arguments(function, "act"):
            if isinstance(kind, ast.Constant):
                yield kind.value, function.name, room
                continue
            place = [argument.arg for argument in function.args.args].index(kind.id)
            for caller in functions:
                for given in _arguments(caller, function.name, place):
                    yield given.value, caller.name, room


def _first_arguments(function: ast.FunctionDef, name: str) -> Iterator[ast.expr]:
    yield from _arguments(function, name, 0)


def _arguments(function: ast.FunctionDef, name: str, place: int) -> Iterator[ast.expr]:
    for node in ast.walk(function):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name:
            yield node.args[place]
