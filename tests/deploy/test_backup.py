"""A backup holds one moment of a works in which people go on writing, and nothing else is ever taken for one."""

import contextlib
import json
import os
import sqlite3
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import psycopg
import pytest

from tests import engines
from tests.deploy.scripts import archive, backup, installing, restore
from tests.sources import BASE

MOMENT = archive.Moment("sqlite", "2026-03-02T08:00:00Z", [["auth", "0001_initial"]], {"t": 1}, {"size": 1}, True)


def environment(addresses: dict[str, str], folder: Path) -> dict[str, str]:
    return installing.settings_left_out() | addresses | {"VAR_DIR": str(folder), "SECRET_KEY": "of this test"}


def told(script: str, *args: object, **settings: str) -> subprocess.CompletedProcess:
    command = [sys.executable, *script.split(), *map(str, args)]
    return subprocess.run(command, cwd=BASE, env=settings, capture_output=True, text=True, check=False)


@contextlib.contextmanager
def people_added(settings: dict[str, str]) -> Iterator[subprocess.Popen]:
    """A program that writes and seals for as long as the block runs; ten entries stand when it begins."""
    command = [sys.executable, "-m", "tests.deploy.writing"]
    with subprocess.Popen(
        command, cwd=BASE, env=settings, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as writer:
        assert writer.stdout.readline() == "10\n"
        yield writer
        writer.communicate("end")
    assert writer.returncode == 0


def entries(settings: dict[str, str]) -> set[tuple]:
    """Number and key of every entry, asked without the program."""
    address, question = settings["DATABASE_URL"], "select id, cast(key as text), kind from ledger_entry"
    if address.startswith("sqlite"):
        with contextlib.closing(sqlite3.connect(address.removeprefix("sqlite:///"))) as database:
            return set(database.execute(question))
    with psycopg.connect(address) as database:
        return set(database.execute(question))


def test_a_backup_made_while_people_write_comes_back_whole_elsewhere(django_db_setup, tmp_path):
    with (
        engines.another(tmp_path, "here", migrated=True) as here,
        # On PostgreSQL a new machine has its tables already, on SQLite no file.
        engines.another(tmp_path, "there", migrated=engines.IS_POSTGRESQL) as there,
    ):
        here, there = environment(here, tmp_path / "one"), environment(there, tmp_path / "other")
        (tmp_path / "one" / "uploads").mkdir(parents=True)
        (tmp_path / "one" / "uploads" / "certificate.pdf").write_bytes(b"as sent")
        with people_added(here) as writer:
            made = told("deploy/backup.py", **here)
            assert (made.returncode, made.stderr) == (0, "")
            writer.stdout.readline()
        (file,) = (tmp_path / "one" / "backups").glob("framethread-*.tar")
        assert file.stat().st_mode & 0o777 == 0o600

        if engines.IS_POSTGRESQL:
            with psycopg.connect(there["DATABASE_URL"]):
                barred = told("deploy/restore.py", file, **there)
            assert (barred.returncode, barred.stderr) == (2, "The program is at work on this database. End it first.\n")
        came = told("deploy/restore.py", file, **there)
        assert (came.returncode, came.stderr) == (0, "")
        assert "The book verifies." in came.stdout
        assert "erase them again" in came.stdout
        before, after = entries(here), entries(there)
        assert 10 < len(after) < len(before)
        assert after < before
        assert archive.check(file).moment.counts["ledger_entry"] == len(after)
        for name in ("signing-key.pem", "uploads/certificate.pdf"):
            assert (tmp_path / "other" / name).read_bytes() == (tmp_path / "one" / name).read_bytes()

        verified = json.loads(told("manage.py verify --json", **there).stdout)
        assert (verified["clean"], verified["entries"]) == (True, len(after))
        again = told("deploy/restore.py", file, **there)
        assert again.returncode == 2
        assert again.stderr.rstrip().endswith(("Restore into an empty one.", "Move it away first."))


@pytest.fixture
def made(tmp_path):
    """A backup of two files, and where each lies in it."""
    for name in ("a", "b"):
        (tmp_path / name).write_text(f"what {name} holds")
    target = tmp_path / "framethread-1.tar"
    archive.write(target, tmp_path / "draft", MOMENT, {"database.sqlite3": tmp_path / "a", "var/b": tmp_path / "b"})
    return target


def test_what_was_written_is_read_back(made, tmp_path):
    assert archive.unpack(made, tmp_path / "out").moment == MOMENT
    assert (tmp_path / "out" / "var" / "b").read_text() == "what b holds"
    assert not (tmp_path / "draft").exists()


def test_a_backup_is_never_written_over(made, tmp_path):
    before = made.read_bytes()
    with pytest.raises(installing.CannotStart, match="never written over"):
        archive.write(made, tmp_path / "draft", MOMENT, {})
    assert made.read_bytes() == before
    assert not (tmp_path / "draft").exists()


def test_a_changed_byte_is_found(made, tmp_path):
    made.write_bytes(made.read_bytes().replace(b"what b holds", b"what c holds"))
    for read in (archive.check, lambda file: archive.unpack(file, tmp_path / "out")):
        with pytest.raises(installing.CannotStart, match="var/b is not as it was written"):
            read(made)


def test_a_backup_cut_short_is_no_backup(made):
    whole = made.read_bytes()
    for length in (0, 700, whole.index(b"what b holds"), whole.index(b"what b holds") + 5):
        made.write_bytes(whole[:length])
        with pytest.raises(installing.CannotStart, match="no whole backup"):
            archive.check(made)


@pytest.mark.parametrize("name", ["../outside", "/etc/passwd", "var/unlisted"])
def test_a_file_that_does_not_belong_in_a_backup_is_not_unpacked(made, tmp_path, name):
    with tarfile.open(made, "a") as tar:
        member = tarfile.TarInfo(name)
        member.size = 1
        tar.addfile(member, BytesIO(b"x"))
    with pytest.raises(installing.CannotStart, match="does not belong in it"):
        archive.unpack(made, tmp_path / "out")
    assert not (tmp_path / "outside").exists()


def test_the_newest_backups_stay_and_what_else_lies_there(tmp_path):
    for name in ("framethread-1.tar", "framethread-2.tar", "framethread-3.tar", "notes.txt"):
        (tmp_path / name).touch()
    assert backup.thin_out(tmp_path, 2)
    assert sorted(os.listdir(tmp_path)) == ["framethread-2.tar", "framethread-3.tar", "notes.txt"]


def test_two_backups_at_once_are_one_and_what_a_killed_one_left_is_cleared(tmp_path):
    (tmp_path / ".making-killed").mkdir()
    with backup.scratch(tmp_path):
        assert not (tmp_path / ".making-killed").exists()
        with pytest.raises(installing.CannotStart, match="Another backup"), backup.scratch(tmp_path):
            pass


def test_database_backups_and_what_is_made_again_are_no_files_of_the_works(tmp_path, settings):
    settings.VAR_DIR, settings.BACKUP_FOLDER = tmp_path, tmp_path / "backups"
    settings.SIGNING_KEY_FILE = tmp_path / "signing-key.pem"
    for name in ("backups/old.tar", "static/a.css", "uploads/a.pdf", "signing-key.pem", "sign-ins.txt"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    assert set(backup.files_of_works(settings)) == {"signing-key.pem", "var/uploads/a.pdf", "var/sign-ins.txt"}


def test_a_backup_of_another_engine_or_of_a_newer_program_is_refused():
    of_here = replace(MOMENT, engine="postgresql" if engines.IS_POSTGRESQL else "sqlite")
    of_other = replace(MOMENT, engine="sqlite" if engines.IS_POSTGRESQL else "postgresql")
    with pytest.raises(installing.CannotStart, match="DATABASE_URL names"):
        restore.refuse_other_program(of_other)
    restore.refuse_other_program(of_here)
    with pytest.raises(installing.CannotStart, match="newer program, with ledger 9999_later"):
        restore.refuse_other_program(replace(of_here, migrations=[["ledger", "9999_later"]]))


def test_another_key_is_never_written_over(tmp_path):
    key = tmp_path / "signing-key.pem"
    key.write_text("another")
    (tmp_path / "unpacked").mkdir()
    (tmp_path / "unpacked" / "signing-key.pem").write_text("of the backup")
    with pytest.raises(installing.CannotStart, match="Move it away first"):
        restore.refuse_to_write_over(tmp_path / "unpacked", {"signing-key.pem": key})
    key.write_text("of the backup")
    restore.refuse_to_write_over(tmp_path / "unpacked", {"signing-key.pem": key})
