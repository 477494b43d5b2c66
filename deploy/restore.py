"""Put a backup into an empty database, and hold what came of it against the backup and the book.

    python3 deploy/restore.py FILE          into DATABASE_URL, OWNER_DATABASE_URL, VAR_DIR and SIGNING_KEY_FILE

Nothing is begun before the whole file was held against its manifest, and nothing is ever written over: a database in
which an entry stands, another signing key or another file of the same name is refused. Tables, triggers and rights are
brought up to this program; then rows are counted, the head of the sealed tree is compared, and the book is verified.
Words that were erased after the backup was made are there again: erase them again. Exit 0: restored, and all agrees.
1: restored, and something differs. 2: not restored; one sentence says why.
"""

from __future__ import annotations

import argparse
import filecmp
import os
import shutil
import sys
import tempfile
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import Any

import archive
import copying
from backup import KEY
from installing import CANNOT, CannotStart, end_in_order_when_told, go_on_with_packages
from program import database_trouble, migrations_of_program, settings_read
from readiness import key_troubles


def restore(settings: Any, file: Path) -> int:
    """Restore one backup; the exit code."""
    refuse_unless_empty(settings)
    with tempfile.TemporaryDirectory(dir=folder_for_unpacking(settings), prefix=".restoring-") as folder:
        unpacked = Path(folder)
        manifest = archive.unpack(file, unpacked)
        refuse_other_program(manifest.moment)
        places = places_of_files(settings, manifest)
        refuse_to_write_over(unpacked, places)
        say(f"{file} is whole: {len(manifest.files)} files, taken at {manifest.moment.taken_at}.")
        copying.put_in(unpacked / copying.DUMP[manifest.moment.engine])
        differences = list(differing(manifest.moment))
        put_files(unpacked, places, owner=Path(settings.VAR_DIR))
    say(f"Database and {len(places)} files are in place. Bringing tables, triggers and rights up to this program ...")
    bring_up_to_date()
    return verified(manifest.moment, differences)


def folder_for_unpacking(settings: Any) -> Path:
    """Where there is room for all of it: the disk on which it will stand."""
    folder = Path(settings.VAR_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def refuse_unless_empty(settings: Any) -> None:
    """A works that somebody opened stays; tables without an entry, as migrate makes them, are nobody's works."""
    from django.db import connection

    if connection.vendor == "sqlite":
        if Path(connection.settings_dict["NAME"]).exists():
            raise CannotStart(f"{connection.settings_dict['NAME']} is there already. Move it away first.")
        return
    if "owner" not in settings.DATABASES:
        raise CannotStart("Set OWNER_DATABASE_URL too: tables are made by their owner.")
    trouble = database_trouble()
    if trouble:
        raise CannotStart(trouble)
    connection.close()
    with as_owner(), connection.cursor() as cursor:
        if "ledger_entry" in connection.introspection.table_names(cursor):
            cursor.execute("select exists (select from ledger_entry)")
            if cursor.fetchone() == (True,):
                raise CannotStart("A works stands in this database already. Restore into an empty one.")
        cursor.execute(
            "select count(*) from pg_stat_activity where datname = current_database() and usename = %s",
            [settings.DATABASES["default"]["USER"]],
        )
        if cursor.fetchone()[0]:
            raise CannotStart("The program is at work on this database. End it first.")


def refuse_other_program(moment: archive.Moment) -> None:
    """A backup of the other engine, or of a newer program."""
    from django.db import connection

    if moment.engine != connection.vendor:
        raise CannotStart(f"The backup is of {moment.engine}, and DATABASE_URL names {connection.vendor}.")
    unknown = {(room, name) for room, name in moment.migrations} - migrations_of_program()
    if unknown:
        room, name = sorted(unknown)[0]
        raise CannotStart(f"The backup is of a newer program, with {room} {name}. Bring this program up to date first.")


def places_of_files(settings: Any, manifest: archive.Manifest) -> dict[str, Path]:
    """Where each file of the backup but the database goes."""
    places = {}
    for name in manifest.files:
        if name == KEY:
            places[name] = Path(settings.SIGNING_KEY_FILE)
        elif name.startswith("var/"):
            places[name] = Path(settings.VAR_DIR) / name.removeprefix("var/")
    return places


def refuse_to_write_over(unpacked: Path, places: dict[str, Path]) -> None:
    for name, place in places.items():
        if place.exists() and not filecmp.cmp(unpacked / name, place, shallow=False):
            raise CannotStart(f"{place} is there already, and is another one. Move it away first.")


def put_files(unpacked: Path, places: dict[str, Path], *, owner: Path) -> None:
    """Lay files in their places, for the user to whom the program's folder belongs."""
    for name, place in places.items():
        place.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(unpacked / name, place)
        place.chmod(0o600)
        if os.geteuid() == 0:
            for path in (place, *place.parents):
                if path == owner or not path.is_relative_to(owner):
                    break
                os.chown(path, owner.stat().st_uid, owner.stat().st_gid)


def as_owner() -> AbstractContextManager[None]:
    """The owner's connection serves inside the block, where there is an owner: the program's rights come later."""
    from django.db import connection

    from records.ledger.management.commands.migrate import acting_as_owner

    return nullcontext() if connection.vendor == "sqlite" else acting_as_owner()


def differing(moment: archive.Moment) -> list[str]:
    """Where rows or head are not as the backup says."""
    with as_owner():
        there, head = copying.counts(), copying.tree()
    tables = sorted(set(moment.counts) | set(there))
    found = [
        f"{table}: {moment.counts.get(table, 0):,} rows in the backup, {there.get(table, 0):,} here."
        for table in tables
        if moment.counts.get(table) != there.get(table)
    ]
    return found + ([] if head == moment.tree else [f"The sealed tree is {head}, in the backup {moment.tree}."])


def bring_up_to_date() -> None:
    """Tables of this program; migrate also puts triggers and rights in place."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def verified(moment: archive.Moment, differences: list[str]) -> int:
    """Verify by the program's own role, and say what came of all."""
    from django.db import connection

    from records.ledger.guard import weaknesses
    from records.ledger.verifying import verify

    found, wrong = verify(), [*differences, *weaknesses(connection), *key_troubles()]
    for words in wrong:
        print(words, file=sys.stderr)
    rows, head = sum(moment.counts.values()), moment.tree
    if not differences:
        say(f"{rows:,} rows of {len(moment.counts)} tables and a tree of {head['size']:,} leaves, as in the backup.")
    say(
        "The book verifies."
        if found.clean
        else f"THE BOOK DOES NOT VERIFY, {len(found.faults)} faults: manage.py verify"
    )
    say(f"Words erased after {moment.taken_at} are in this database again: erase them again.")
    return 0 if found.clean and not wrong else 1


def say(words: str) -> None:
    print(words, flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file", type=Path, metavar="FILE", help="the backup")
    options = parser.parse_args()
    end_in_order_when_told()
    try:
        go_on_with_packages()
        return restore(settings_read(), options.file.resolve())
    except CannotStart as trouble:
        print(trouble, file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print(
            "Broken off; the database is empty as before, unless a line above says that it is in place.",
            file=sys.stderr,
        )
        return 130


if __name__ == "__main__":
    sys.exit(main())
