"""What must hold before the program serves a plant; each thing that does not is one sentence that says what to do."""

from __future__ import annotations

import ipaddress
import os
import socket
import ssl
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from program import database_trouble, migrations_of_database, migrations_of_program

SHORTEST_SECRET = 50
FEWEST_SIGNS = 12
OLDEST_POSTGRESQL = 15
SOON = timedelta(days=21)


def troubles(settings: Any, *, with_web: bool = True) -> list[str]:
    """Everything by which the program can't serve; ``with_web`` asks for port and certificate too."""
    found = [*setting_troubles(settings), *folder_troubles(settings)]
    if with_web:
        files = settings.CERTIFICATE_FILE, settings.CERTIFICATE_KEY_FILE
        found += certificate_troubles(*files, at=datetime.now(UTC)) if any(files) else []
        found += listening_troubles(settings.LISTEN, has_certificate=any(files))
    return [*found, *database_troubles()]


def setting_troubles(settings: Any) -> Iterator[str]:
    """Settings that serve to try, and would lay a plant open."""
    if settings.DEBUG:
        yield "DEBUG is on, so a fault would show the program's inside to everybody. Take it out of the settings."
    if settings.TRIAL:
        yield "TRIAL is on, so sessions are signed by a secret that everybody knows. Take it out of the settings."
    secret = settings.SECRET_KEY
    if secret == settings.TRIAL_SECRET or not secret:
        yield "SECRET_KEY is not set. Set a long random one: openssl rand -base64 48"
    elif len(secret) < SHORTEST_SECRET or len(set(secret)) < FEWEST_SIGNS:
        words = f"SECRET_KEY is too easily guessed: at least {SHORTEST_SECRET} random signs. "
        yield words + "Make one: openssl rand -base64 48"
    if settings.WEB_PROCESSES < 1:
        yield f"WEB_PROCESSES is {settings.WEB_PROCESSES}, so nobody would be answered. Set 1 or more."
    if "*" in settings.ALLOWED_HOSTS:
        yield "ALLOWED_HOSTS lets any name through. List the names under which the program is reached."
    if not (settings.SECURE_COOKIES or settings.DEBUG or settings.TRIAL):
        yield "SECURE_COOKIES is off, so sessions could be read on the way. Take it out of the settings."
    yield from owner_troubles(settings)


def owner_troubles(settings: Any) -> Iterator[str]:
    """A code that is printed on frames must lead to their pages for as long as they are ridden."""
    if not settings.OWNER_ADDRESS:
        return
    link = urlsplit(settings.OWNER_ADDRESS)
    if link.scheme != "https" or not link.hostname or link.query or link.fragment:
        yield f"OWNER_ADDRESS is {settings.OWNER_ADDRESS}; write https:// and the name by which owners reach the pages."
    elif not any(is_name_of(allowed, link.hostname) for allowed in settings.ALLOWED_HOSTS):
        yield f"OWNER_ADDRESS leads to {link.hostname}, which is not answered here. List it in ALLOWED_HOSTS."
    if not settings.OWNER_PHONE:
        yield "OWNER_PHONE is not set, so whoever reads “Do not ride” on a frame's page knows nobody to ask. Set it."


def is_name_of(allowed: str, host: str) -> bool:
    """Whether an entry of ALLOWED_HOSTS lets a name through; one that begins with a point lets all below it."""
    return allowed == "*" or host == allowed.lstrip(".") or (allowed.startswith(".") and host.endswith(allowed))


def folder_troubles(settings: Any) -> Iterator[str]:
    """Folders and files that the program must write or read."""
    folder = settings.VAR_DIR
    if not os.path.isdir(folder):  # False too where the way to it is barred
        yield f"There is no folder {folder} that the program's user can reach. Make it, or name another one in VAR_DIR."
    elif not os.access(folder, os.W_OK | os.X_OK):
        yield f"The program may not write in {folder}. Give the folder to the user that runs it."
    key = settings.SIGNING_KEY_FILE
    if os.path.exists(key) and not os.access(key, os.R_OK):
        yield f"The program may not read {key}. Give the file to the user that runs it."


def certificate_troubles(certificate: str, key: str, *, at: datetime) -> Iterator[str]:
    """What keeps a certificate and its key from serving at a moment."""
    from cryptography import x509

    if not (certificate and key):
        yield "A certificate needs its key: set CERTIFICATE_FILE and CERTIFICATE_KEY_FILE, or neither."
        return
    try:
        first = x509.load_pem_x509_certificates(Path(certificate).read_bytes())[0]
        with Path(key).open("rb"):
            pass
    except OSError as failure:
        yield f"{failure.filename} can't be read: {failure.strerror}. Give the program's user the right to read it."
        return
    except ValueError:
        yield f"{certificate} holds no certificate in PEM. Put the certificate and those between it and its root there."
        return
    if at > first.not_valid_after_utc:
        yield f"The certificate {certificate} ended on {first.not_valid_after_utc:%Y-%m-%d}. Put a new one there."
    if at < first.not_valid_before_utc:
        begins = f"{first.not_valid_before_utc:%Y-%m-%d}"
        yield f"The certificate {certificate} holds from {begins} on. Look at the machine's clock."
    yield from pair_troubles(certificate, key)


def pair_troubles(certificate: str, key: str) -> Iterator[str]:
    """Whether a key opens its certificate, as the server will ask."""

    def without_password() -> str:
        raise ValueError

    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key, without_password)
    except ValueError:
        yield f"{key} asks for a password. Take the password off: openssl pkey -in OLD -out NEW"
    except ssl.SSLError as failure:
        if failure.reason == "KEY_VALUES_MISMATCH":
            yield f"{key} is not the key of {certificate}. Put the two that belong together there."
        else:
            yield f"{certificate} and {key} can't be used: {failure.reason or failure}."


def certificate_note(certificate: str, *, at: datetime) -> str | None:
    """A sentence when a certificate ends soon."""
    from cryptography import x509

    ends = x509.load_pem_x509_certificates(Path(certificate).read_bytes())[0].not_valid_after_utc
    return f"The certificate {certificate} ends on {ends:%Y-%m-%d}. Get a new one." if ends - at < SOON else None


def place(listen: str) -> tuple[str, int]:
    """Host and port of an address to listen on; ``ValueError`` for what is none."""
    host, _, port = listen.rpartition(":")
    if not host or not 0 < int(port) < 1 << 16:
        raise ValueError(listen)
    return host.strip("[]"), int(port)


def listening_troubles(listen: str, *, has_certificate: bool) -> Iterator[str]:
    """What keeps the program from listening at an address."""
    try:
        host, port = place(listen)
        family, _, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except (ValueError, socket.gaierror):
        yield f"LISTEN is {listen}; write a host and a port of this machine, such as 127.0.0.1:8000."
        return
    if not has_certificate and not ipaddress.ip_address(address[0]).is_loopback:
        words = f"Without a certificate the program listens on this machine only, not at {listen}. "
        yield words + "Set CERTIFICATE_FILE and CERTIFICATE_KEY_FILE, or put a proxy in front."
        return
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # as the server does: a port just left is free
        try:
            probe.bind(address)
        except PermissionError:
            yield f"The program's user may not listen on port {port}. Choose one above 1023, with a proxy in front."
        except OSError as failure:
            yield f"Nothing can listen at {listen}: {failure.strerror}. End what does, or change LISTEN."


def database_troubles() -> list[str]:
    """What the database lacks to hold a plant's records."""
    from django.db import connection

    if connection.vendor != "postgresql":
        return ["A plant's records stand in PostgreSQL; SQLite serves to try and to test. Set DATABASE_URL."]
    trouble = database_trouble()
    if trouble:
        return [trouble]
    try:
        return list(record_troubles())
    finally:
        connection.close()


def record_troubles() -> Iterator[str]:
    """What lets records be changed, or the book go on by another key."""
    from django.db import connection

    from records.ledger.guard import weaknesses

    version = connection.pg_version // 10000  # type: ignore[attr-defined]
    if version < OLDEST_POSTGRESQL:
        yield f"This is PostgreSQL {version}; {OLDEST_POSTGRESQL} or newer is needed."
    if "ledger_entry" not in connection.introspection.table_names():
        yield "The database has no tables yet. Run manage.py migrate as its owner."
        return
    taken, known = migrations_of_database(), migrations_of_program()
    if known - taken:
        yield f"The tables are older than the program: {len(known - taken)} migrations wait. Run manage.py migrate."
    elif taken - known:
        yield "The tables are newer than the program. Bring the program up to date."
    else:
        yield from weaknesses(connection)
        yield from key_troubles()


def key_troubles() -> Iterator[str]:
    """A book that was signed goes on only by the key that it names last."""
    from records.ledger.keys import key_in_force
    from records.ledger.models import SigningKey
    from records.ledger.refusals import Refused

    if SigningKey.objects.exists():
        try:
            key_in_force()
        except Refused as refused:
            yield str(refused)
        except OSError as failure:
            yield f"The signing key can't be read: {failure.strerror}: {failure.filename}."
