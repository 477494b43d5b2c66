"""The scripts of deploy/ as modules: they lie beside each other and are no package."""

import importlib.util
import sys
from types import ModuleType

from tests.sources import BASE

DEPLOY = BASE / "deploy"
# The scripts import each other as they do when started from the shell.
sys.path.append(str(DEPLOY))
import archive  # noqa: E402
import backup  # noqa: E402
import cluster  # noqa: E402
import installing  # noqa: E402
import keeping  # noqa: E402
import pictures  # noqa: E402
import prepare  # noqa: E402
import readiness  # noqa: E402
import restore  # noqa: E402
import serve  # noqa: E402


def script(name: str) -> ModuleType:
    """A script by its file: ``try`` is a word of the language, and ``test`` is a module of Python's own."""
    spec = importlib.util.spec_from_file_location(f"deploy_{name}", DEPLOY / f"{name}.py")
    module = sys.modules[spec.name] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


trial, checks = script("try"), script("test")

__all__ = [
    "archive",
    "backup",
    "checks",
    "cluster",
    "installing",
    "keeping",
    "pictures",
    "prepare",
    "readiness",
    "restore",
    "serve",
    "trial",
]
