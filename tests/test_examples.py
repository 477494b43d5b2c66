"""The examples in docstrings are run."""

import doctest
import importlib

import pytest

from tests import sources

MODULES_WITH_EXAMPLES = [
    ".".join(path.relative_to(sources.BASE).with_suffix("").parts)
    for path in sources.files(".py", below=("plant", "records"))
    if ">>> " in path.read_text()
]


@pytest.mark.parametrize("name", MODULES_WITH_EXAMPLES)
def test_an_example_gives_what_it_says(name):
    outcome = doctest.testmod(importlib.import_module(name), optionflags=doctest.NORMALIZE_WHITESPACE)
    assert outcome.attempted
    assert outcome.failed == 0
