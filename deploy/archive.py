"""One file that holds a backup: a tar with its manifest first, and every file under its SHA-256."""

from __future__ import annotations

import contextlib
import json
import os
import tarfile
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from hashlib import sha256
from io import BytesIO
from pathlib import Path, PurePosixPath
from typing import IO, Any

from installing import CannotStart

FORM = "framethread-backup-1"
MANIFEST = "manifest.json"
LARGEST_MANIFEST = 64 * 1024 * 1024
PIECE = 1 << 20


@dataclass(frozen=True)
class Moment:
    """What the database held at the moment of a copy."""

    engine: str
    taken_at: str
    migrations: list[list[str]]
    counts: dict[str, int]
    tree: dict[str, Any]
    clean: bool


@dataclass(frozen=True)
class Stored:
    """A file in a backup."""

    bytes: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    """What a backup holds."""

    moment: Moment
    files: dict[str, Stored]


def digest(source: IO[bytes]) -> Stored:
    """Length and SHA-256 of what can be read."""
    seen, length = sha256(), 0
    while piece := source.read(PIECE):
        seen.update(piece)
        length += len(piece)
    return Stored(length, seen.hexdigest())


def write(target: Path, draft: Path, moment: Moment, files: Mapping[str, Path]) -> None:
    """Write a backup as a draft on the same disk, read it back, then give it its name; one that is there stays."""
    try:
        with draft.open("xb") as out:
            os.chmod(out.fileno(), 0o600)  # it holds the signing key
            _write_into(out, moment, files)
            out.flush()
            os.fsync(out.fileno())
        check(draft)
        os.link(draft, target)
    except FileExistsError:
        raise CannotStart(f"{target} is there already; a backup is never written over.") from None
    finally:
        draft.unlink(missing_ok=True)
    _keep_name(target.parent)


def _write_into(out: IO[bytes], moment: Moment, files: Mapping[str, Path]) -> None:
    stored = {}
    for name, path in files.items():
        with path.open("rb") as source:
            stored[name] = digest(source)
    told = {"form": FORM, "moment": asdict(moment), "files": {name: asdict(one) for name, one in stored.items()}}
    text = json.dumps(told, indent=1, sort_keys=True).encode()
    with tarfile.open(fileobj=out, mode="w", format=tarfile.PAX_FORMAT) as tar:
        tar.addfile(_member(MANIFEST, len(text)), BytesIO(text))
        for name, path in files.items():
            with path.open("rb") as source:
                tar.addfile(_member(name, stored[name].bytes), source)


def _member(name: str, size: int) -> tarfile.TarInfo:
    member = tarfile.TarInfo(name)
    member.size, member.mode = size, 0o600
    return member


def _keep_name(folder: Path) -> None:
    """Let the new name itself reach the disk."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def check(path: Path) -> Manifest:
    """The manifest of a backup of which every file is as written. Refuses any other."""
    with _members(path) as (manifest, members):
        for name, source in members:
            _hold_against(path, name, digest(source), manifest)
    return manifest


def unpack(path: Path, folder: Path) -> Manifest:
    """Lay every file of a backup into an empty folder, each held against the manifest."""
    with _members(path) as (manifest, members):
        for name, source in members:
            place = folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            with place.open("xb") as out:
                os.chmod(out.fileno(), 0o600)
                while piece := source.read(PIECE):
                    out.write(piece)
            with place.open("rb") as written:
                _hold_against(path, name, digest(written), manifest)
    return manifest


@contextlib.contextmanager
def _members(path: Path) -> Iterator[tuple[Manifest, Iterator[tuple[str, IO[bytes]]]]]:
    try:
        with tarfile.open(path, mode="r:") as tar:
            manifest = _manifest(path, tar)
            yield manifest, _files(path, tar, manifest)
    except (tarfile.TarError, EOFError) as failure:
        raise _spoiled(path, str(failure)) from failure
    except OSError as failure:
        raise CannotStart(f"{failure.filename or path}: {failure.strerror or failure}.") from failure


def _manifest(path: Path, tar: tarfile.TarFile) -> Manifest:
    first = tar.next()
    source = tar.extractfile(first) if first and first.isfile() else None
    if first is None or source is None or first.name != MANIFEST or first.size > LARGEST_MANIFEST:
        raise _spoiled(path, "it does not begin with a manifest")
    try:
        told = json.loads(source.read())
        if told["form"] != FORM:
            raise CannotStart(f"{path} is of the form {told['form']}; this program reads {FORM}.")
        files = {str(name): Stored(**one) for name, one in told["files"].items()}
        return Manifest(Moment(**told["moment"]), files)
    except (ValueError, KeyError, TypeError, AttributeError) as failure:
        raise _spoiled(path, "its manifest can't be read") from failure


def _files(path: Path, tar: tarfile.TarFile, manifest: Manifest) -> Iterator[tuple[str, IO[bytes]]]:
    """Name and content of each file; a name that leads elsewhere, or is not in the manifest, is refused."""
    seen = set()
    while member := tar.next():
        parts = PurePosixPath(member.name)
        source = tar.extractfile(member) if member.isfile() else None
        if source is None or parts.is_absolute() or ".." in parts.parts or member.name not in manifest.files:
            raise _spoiled(path, f"{member.name} does not belong in it")
        seen.add(member.name)
        yield member.name, source
    lost = sorted(set(manifest.files) - seen)
    if lost:
        raise _spoiled(path, f"{lost[0]} is not in it")


def _hold_against(path: Path, name: str, found: Stored, manifest: Manifest) -> None:
    if found != manifest.files[name]:
        raise _spoiled(path, f"{name} is not as it was written")


def _spoiled(path: Path, how: str) -> CannotStart:
    return CannotStart(f"{path} is no whole backup: {how}. Take another copy of it, or an earlier one.")
