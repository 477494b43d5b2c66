"""Files from elsewhere that are served from here: each is listed, whole, and under a licence."""

import tomllib
from hashlib import sha256

from tests import sources

VENDOR = sources.BASE / "plant" / "static" / "vendor"
LISTED = {row["path"]: row for row in tomllib.loads((VENDOR / "MANIFEST.toml").read_text())["file"]}


def test_every_file_from_elsewhere_is_listed_and_none_is_missing():
    there = {str(path.relative_to(VENDOR)) for path in VENDOR.rglob("*") if path.is_file()}
    assert there - {"MANIFEST.toml"} == set(LISTED)


def test_every_file_from_elsewhere_is_the_one_that_was_taken():
    changed = [
        name for name, row in LISTED.items() if sha256((VENDOR / name).read_bytes()).hexdigest() != row["sha256"]
    ]
    assert changed == []


def test_every_file_from_elsewhere_names_version_source_and_licence():
    assert [
        name for name, row in LISTED.items() if not all(row[k] for k in ("name", "version", "licence", "source"))
    ] == []
