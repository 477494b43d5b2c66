"""A PostgreSQL cluster of our own: for one test run, or kept while somebody works on the program.

Two roles, as in the plant: the owner migrates and makes databases, the program only reads and adds. Both may sign in
from this machine without a password; the superuser only through a socket in the cluster's own folder. Nothing of
worth belongs in it: it does not wait for the disk.

    python3 deploy/cluster.py start FOLDER --port N     starts it and prints the two addresses as shell lines
    python3 deploy/cluster.py stop FOLDER               ends it; the folder stays
"""

from __future__ import annotations

import argparse
import os
import pwd
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

OWNER = "framethread_owner"
PROGRAM = "framethread"
SUPERUSER = "postgres"
LONGEST_SOCKET_FOLDER = 90  # a socket's whole path must stay below 108 bytes (unix(7))
SETTINGS = {
    "listen_addresses": "127.0.0.1",
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    # A test sees only its own rows, the tidying server none of them: it would note tables as empty and plan by that.
    "autovacuum": "off",
    "max_connections": "60",
}
MAY_SIGN_IN = f"local all {SUPERUSER} trust\nhost all {OWNER},{PROGRAM} 127.0.0.1/32 trust\n"


class NoCluster(Exception):
    """A cluster can't be had: one sentence that says what to do."""


@dataclass(frozen=True)
class Cluster:
    """A running cluster and the two addresses of its database."""

    folder: Path
    port: int

    def address(self, role: str, database: str = "framethread") -> str:
        return f"postgres://{role}@127.0.0.1:{self.port}/{database}"

    @property
    def environment(self) -> dict[str, str]:
        """The two settings by which the program finds the cluster."""
        return {"DATABASE_URL": self.address(PROGRAM), "OWNER_DATABASE_URL": self.address(OWNER)}


def binaries() -> Path | None:
    """Folder of initdb and pg_ctl, the newest version first: Debian keeps them off the path."""
    places = [*Path("/usr/lib/postgresql").glob("*/bin"), *Path("/usr/pgsql").glob("*/bin")]
    places.sort(key=lambda place: int(re.sub(r"\D", "", place.parent.name) or 0), reverse=True)
    on_path = shutil.which("initdb")
    if on_path:
        places.append(Path(on_path).resolve().parent)
    for place in places:
        if all((place / name).exists() for name in ("initdb", "pg_ctl", "psql")):
            return place
    return None


def free_port() -> int:
    """A port on which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def start(folder: Path, port: int) -> Cluster:
    """Start the cluster in a folder, made when there is none yet."""
    if len(str(folder)) > LONGEST_SOCKET_FOLDER:
        raise NoCluster(f"The path {folder} is too long for a socket; choose one of at most {LONGEST_SOCKET_FOLDER}.")
    is_fresh = not (folder / "PG_VERSION").exists()
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    if os.geteuid() == 0:
        shutil.chown(folder, SUPERUSER, SUPERUSER)
    if is_fresh:
        _run("initdb", "-D", str(folder), "-U", SUPERUSER, "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
        (folder / "pg_hba.conf").write_text(MAY_SIGN_IN)
    options = " ".join(f"-c {name}={value}" for name, value in SETTINGS.items())
    options += f" -c unix_socket_directories={folder}"
    log = str(folder / "server.log")
    _run("pg_ctl", "start", "-w", "-D", str(folder), "-l", log, "-o", f"-p {port} {options}")
    if is_fresh:
        for statement in (
            f"create role {OWNER} login createdb",
            f"create role {PROGRAM} login",
            f"create database framethread owner {OWNER}",
        ):
            _run("psql", "-X", "-q", "-h", str(folder), "-p", str(port), "-U", SUPERUSER, "-c", statement, "postgres")
    return Cluster(folder, port)


def stop(folder: Path) -> None:
    """End the cluster in a folder; sessions are cut off."""
    _run("pg_ctl", "stop", "-w", "-m", "fast", "-D", str(folder))


@contextmanager
def temporary() -> Iterator[Cluster]:
    """A cluster on a free port for as long as the block runs."""
    folder = Path(tempfile.mkdtemp(prefix="framethread-pg-"))
    try:
        yield start(folder, free_port())
    finally:
        if (folder / "postmaster.pid").exists():
            stop(folder)
        shutil.rmtree(folder, ignore_errors=True)


def _run(name: str, *args: str) -> None:
    """Run a program of PostgreSQL, never as root: it would refuse."""
    place = binaries()
    if place is None:
        raise NoCluster("PostgreSQL is not installed. Install it with: apt-get install postgresql")
    command: Sequence[str] = [str(place / name), *args]
    done = subprocess.run(
        command,
        stdin=subprocess.DEVNULL,
        # The server inherits the streams of pg_ctl: a pipe would never close.
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL if name == "pg_ctl" else subprocess.PIPE,
        text=True,
        cwd="/",
        start_new_session=True,  # Ctrl-C in the terminal ends the caller, who then ends the cluster in order
        **_other_user(),
    )
    if done.returncode != 0:
        raise NoCluster(f"{name} failed. {(done.stderr or '').strip()}".strip())


def _other_user() -> dict:
    if os.geteuid() != 0:
        return {}
    try:
        pwd.getpwnam(SUPERUSER)
    except KeyError:
        raise NoCluster(f"A root may not run PostgreSQL, and there is no user {SUPERUSER}.") from None
    return {"user": SUPERUSER, "group": SUPERUSER, "extra_groups": []}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("what", choices=["start", "stop"])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--port", type=int, default=0)
    options = parser.parse_args()
    try:
        if options.what == "stop":
            stop(options.folder.resolve())
        else:
            cluster = start(options.folder.resolve(), options.port or free_port())
            print("export " + " ".join(f"{name}={value}" for name, value in cluster.environment.items()))
    except NoCluster as trouble:
        print(trouble, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
