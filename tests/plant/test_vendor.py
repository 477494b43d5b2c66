"""Files from elsewhere that are served or embedded from here: each is listed, whole, and under a licence."""

import tomllib
from hashlib import sha256

import pytest

from tests import sources

STATIC = sources.BASE / "plant" / "static"
FOLDERS = pytest.mark.parametrize("folder", [STATIC / "vendor", STATIC / "fonts"], ids=lambda folder: folder.name)


def listed(folder) -> dict[str, dict[str, str]]:
    return {row["path"]: row for row in tomllib.loads((folder / "MANIFEST.toml").read_text())["file"]}


@FOLDERS
def test_every_file_from_elsewhere_is_listed_and_none_is_missing(folder):
    there = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert there - {"MANIFEST.toml"} == set(listed(folder))


@FOLDERS
def test_every_file_from_elsewhere_is_the_one_that_was_taken(folder):
    digests = {name: sha256((folder / name).read_bytes()).hexdigest() for name in listed(folder)}
    assert digests == {name: row["sha256"] for name, row in listed(folder).items()}


@FOLDERS
def test_every_file_from_elsewhere_names_version_source_and_licence(folder):
    needed = ("name", "version", "licence", "source")
    assert [name for name, row in listed(folder).items() if not all(row[key] for key in needed)] == []
