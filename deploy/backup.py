"""Back up a plant while people work: database, signing key and files in one dated file, held against the book.

    python3 deploy/backup.py                      into BACKUP_FOLDER, of which the newest BACKUPS_KEPT stay
    python3 deploy/backup.py --folder FOLDER      into another folder

The database is copied as it was at one moment; nobody waits for it. The file has a manifest with the SHA-256 of
everything in it, the number of rows of each table and the head of the sealed tree; it gets its name only when it was
read back. It holds the signing key and every name: keep it as carefully as the database, away from this machine, and
encrypted by the works' own means. Words erased later still stand in it. Exit 0: made, and the book verifies. 1: made,
and the book does not verify, or older backups could not be taken away. 2: not made; one sentence says why.
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import archive
import copying
from installing import CANNOT, CannotStart, end_in_order_when_told, go_on_with_packages
from program import database_trouble, migrations_of_database, settings_read

NAMES = "framethread-*.tar"
KEY = "signing-key.pem"
# What the program makes again by itself.
MADE_AGAIN = {"static", "test"}
SCRATCH = ".making-"


def back_up(settings: Any, folder: Path, kept: int) -> int:
    """Make one backup and take older ones away; the exit code."""
    target = folder / f"framethread-{datetime.now(UTC):%Y%m%dT%H%M%SZ}.tar"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        with scratch(folder) as work:
            moment = write(settings, work, target)
    except OSError as failure:
        raise CannotStart(f"No backup was made: {failure.filename or folder}: {failure.strerror}.") from failure
    say(target, moment)
    # Good backups never make room for one of a book that does not verify.
    return 0 if moment.clean and thin_out(folder, kept) else 1


@contextlib.contextmanager
def scratch(folder: Path) -> Iterator[Path]:
    """A folder on the disk of the backups, gone afterwards; one that makes backups there keeps others out."""
    with (folder / ".lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise CannotStart(f"Another backup is being made in {folder}. Wait until it is done.") from None
        for leftover in folder.glob(f"{SCRATCH}*"):
            shutil.rmtree(leftover)  # of one that was killed
        with tempfile.TemporaryDirectory(dir=folder, prefix=SCRATCH) as work:
            yield Path(work)


def write(settings: Any, work: Path, target: Path) -> archive.Moment:
    """Copy, verify what was copied, and write the file."""
    from django.db import connection

    dump = work / copying.DUMP[connection.vendor]
    began = datetime.now(UTC)
    with copying.copied(dump):
        moment = moment_of_copy(began)
    # Files after the database: a row may name a file, and must find it.
    archive.write(target, work / target.name, moment, {dump.name: dump, **files_of_works(settings)})
    return moment


def moment_of_copy(began: datetime) -> archive.Moment:
    """What the database holds, and whether the book verifies; nothing said later than ``began`` is surely in it."""
    from django.db import connection

    from records.ledger.verifying import verify

    if "ledger_entry" not in connection.introspection.table_names():
        raise CannotStart("The database has no tables, so there is nothing to back up.")
    return archive.Moment(
        engine=connection.vendor,
        taken_at=f"{began:%Y-%m-%dT%H:%M:%SZ}",
        migrations=sorted(map(list, migrations_of_database())),
        counts=copying.counts(),
        tree=copying.tree(),
        clean=verify().clean,
    )


def files_of_works(settings: Any) -> dict[str, Path]:
    """The signing key, and all of VAR_DIR but the database, backups, and what is made again."""
    from django.db import connection

    key, var = Path(settings.SIGNING_KEY_FILE).resolve(), Path(settings.VAR_DIR).resolve()
    left_out = [var / name for name in MADE_AGAIN] + [Path(settings.BACKUP_FOLDER).resolve(), key]
    if connection.vendor == "sqlite":
        database = Path(connection.settings_dict["NAME"]).resolve()
        left_out += [database.with_name(database.name + ending) for ending in ("", "-wal", "-shm", "-journal")]
    files = {KEY: key} if key.exists() else {}
    for path in sorted(var.rglob("*")):
        if path.is_file() and not path.is_symlink() and not any(path.is_relative_to(one) for one in left_out):
            files[f"var/{path.relative_to(var).as_posix()}"] = path
    return files


def say(target: Path, moment: archive.Moment) -> None:
    """What was made; the head is worth noting outside the house."""
    rows, tree = sum(moment.counts.values()), moment.tree
    size = os.path.getsize(target) / 1e6
    print(f"{target}: {size:,.1f} MB, {rows:,} rows of {len(moment.counts)} tables, as at {moment.taken_at}.")
    if tree["root"]:
        head = f"{tree['size']}:{tree['root']}"
        print(f"Head {head} (note it elsewhere; verify --since asks for it later), signed {tree['signed_at']}.")
    words = "The book verifies." if moment.clean else "THE BOOK DOES NOT VERIFY; manage.py verify tells what differs."
    print(words, file=sys.stdout if moment.clean else sys.stderr)


def thin_out(folder: Path, kept: int) -> bool:
    """Take away all but the newest backups, whose names are in order of time; whether that could be done."""
    try:
        for old in sorted(folder.glob(NAMES))[:-kept]:
            old.unlink()
    except OSError as failure:
        print(f"An older backup could not be taken away: {failure.filename}: {failure.strerror}.", file=sys.stderr)
        return False
    return True


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--folder", type=Path, help="instead of BACKUP_FOLDER")
    parser.add_argument("--keep", type=int, help="instead of BACKUPS_KEPT")
    options = parser.parse_args()
    end_in_order_when_told()
    try:
        go_on_with_packages()
        settings = settings_read()
        kept = settings.BACKUPS_KEPT if options.keep is None else options.keep
        if kept < 1:
            raise CannotStart("At least one backup must be kept.")
        trouble = database_trouble()
        if trouble:
            raise CannotStart(trouble)
        return back_up(settings, (options.folder or settings.BACKUP_FOLDER).resolve(), kept)
    except CannotStart as trouble:
        print(trouble, file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print("Broken off; no backup was made.", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main())
