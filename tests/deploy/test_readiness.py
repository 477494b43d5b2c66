"""What the program refuses to serve with, each in a sentence that says what to do."""

import socket
from contextlib import closing
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
import trustme
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from records.ledger.sealing import seal_all
from tests.builders import a_works
from tests.deploy.scripts import readiness

NOW = datetime.now(UTC)
GOOD = {
    "DEBUG": False,
    "TRIAL": False,
    "TRIAL_SECRET": "for the trial",
    "SECRET_KEY": "".join(chr(65 + n % 26) for n in range(50)),
    "ALLOWED_HOSTS": ["records.tarnside.example", "id.tarnside.example"],
    "OWNER_ADDRESS": "https://id.tarnside.example",
    "OWNER_PHONE": "+44 1632 960 100",
    "SECURE_COOKIES": True,
    "WEB_PROCESSES": 2,
}


def test_a_plants_settings_are_taken():
    assert list(readiness.setting_troubles(SimpleNamespace(**GOOD))) == []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"DEBUG": True}, "DEBUG is on"),
        ({"TRIAL": True}, "TRIAL is on"),
        ({"SECRET_KEY": "for the trial"}, "SECRET_KEY is not set"),
        ({"SECRET_KEY": ""}, "SECRET_KEY is not set"),
        ({"SECRET_KEY": "abcdefghijklmnopqrstuvwxyz"}, "too easily guessed"),
        ({"SECRET_KEY": "ab" * 40}, "too easily guessed"),
        ({"ALLOWED_HOSTS": ["*"]}, "ALLOWED_HOSTS lets any name through"),
        ({"WEB_PROCESSES": 0}, "WEB_PROCESSES is 0"),
        ({"OWNER_ADDRESS": "https://id.example"}, "OWNER_ADDRESS leads to id.example, which is not answered here."),
        ({"OWNER_ADDRESS": "id.example"}, "OWNER_ADDRESS is id.example; write https://"),
        ({"OWNER_PHONE": ""}, "OWNER_PHONE is not set"),
        ({"SECURE_COOKIES": False}, "SECURE_COOKIES is off"),
    ],
)
def test_what_serves_to_try_is_refused_in_a_plant(change, words):
    (found,) = readiness.setting_troubles(SimpleNamespace(**GOOD | change))
    assert found.startswith(words) or words in found
    assert found.endswith((".", "48"))


def test_a_folder_that_is_not_there_or_not_ours_is_told(tmp_path, monkeypatch):
    there = SimpleNamespace(VAR_DIR=tmp_path, SIGNING_KEY_FILE=tmp_path / "key")
    assert list(readiness.folder_troubles(there)) == []
    (found,) = readiness.folder_troubles(SimpleNamespace(VAR_DIR=tmp_path / "no", SIGNING_KEY_FILE=tmp_path / "key"))
    assert found.startswith("There is no folder")
    there.SIGNING_KEY_FILE.touch()
    # As another user than root would find them.
    monkeypatch.setattr(readiness.os, "access", lambda *_: False)
    folder, key = readiness.folder_troubles(there)
    assert "may not write in" in folder
    assert "may not read" in key


@pytest.fixture
def pair(tmp_path):
    """A certificate of this year and its key, and the key of another."""
    ca = trustme.CA()
    for name in ("own", "other"):
        issued = ca.issue_cert("records.tarnside.example", not_after=NOW + timedelta(days=365))
        issued.cert_chain_pems[0].write_to_path(tmp_path / f"{name}.pem")
        issued.private_key_pem.write_to_path(tmp_path / f"{name}-key.pem")
    return str(tmp_path / "own.pem"), str(tmp_path / "own-key.pem"), str(tmp_path / "other-key.pem")


def told(certificate: str, key: str, at: datetime = NOW) -> list[str]:
    return list(readiness.certificate_troubles(certificate, key, at=at))


def test_a_certificate_with_its_key_is_taken(pair):
    own, key, _ = pair
    assert told(own, key) == []


def test_a_certificate_serves_only_in_its_days_and_with_its_own_key(pair, tmp_path):
    own, key, other = pair
    assert "is not the key of" in told(own, other)[0]
    assert "ended on" in told(own, key, NOW + timedelta(days=366))[0]
    assert "Look at the machine's clock" in told(own, key, datetime(1999, 1, 1, tzinfo=UTC))[0]
    assert "needs its key" in told(own, "")[0]
    assert "can't be read: No such file" in told(str(tmp_path / "none"), key)[0]
    assert "holds no certificate" in told(key, own)[0]


def test_a_key_behind_a_password_is_told_and_nobody_is_asked_for_it(pair, tmp_path):
    own, key, _ = pair
    with open(key, "rb") as file:
        opened = load_pem_private_key(file.read(), None)
    locked = opened.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.BestAvailableEncryption(b"word")
    )
    (tmp_path / "locked.pem").write_bytes(locked)
    assert "asks for a password" in told(own, str(tmp_path / "locked.pem"))[0]


def test_a_certificate_that_ends_soon_is_spoken_of_three_weeks_before(tmp_path):
    issued = trustme.CA().issue_cert("records.tarnside.example", not_after=NOW + timedelta(days=30))
    issued.cert_chain_pems[0].write_to_path(tmp_path / "cert.pem")
    assert readiness.certificate_note(str(tmp_path / "cert.pem"), at=NOW) is None
    assert "Get a new one" in readiness.certificate_note(str(tmp_path / "cert.pem"), at=NOW + timedelta(days=10))


@pytest.mark.parametrize("listen", ["8000", "127.0.0.1", "127.0.0.1:0", "127.0.0.1:x", "no such host:1"])
def test_an_address_that_is_none_is_told(listen):
    (found,) = readiness.listening_troubles(listen, has_certificate=True)
    assert "write a host and a port" in found


def test_without_a_certificate_it_listens_on_this_machine_only():
    (found,) = readiness.listening_troubles("0.0.0.0:8443", has_certificate=False)
    assert found.startswith("Without a certificate")
    for listen, has_certificate in (("[::1]:0", False), ("0.0.0.0:8443", True)):
        assert "Without" not in "".join(readiness.listening_troubles(listen, has_certificate=has_certificate))


def test_a_port_that_is_taken_is_told():
    with closing(socket.create_server(("127.0.0.1", 0))) as there:
        (found,) = readiness.listening_troubles(f"127.0.0.1:{there.getsockname()[1]}", has_certificate=False)
    assert "Address already in use" in found


@pytest.mark.sqlite
@pytest.mark.django_db
def test_sqlite_is_refused_in_a_plant():
    assert readiness.database_troubles() == [
        "A plant's records stand in PostgreSQL; SQLite serves to try and to test. Set DATABASE_URL."
    ]


@pytest.mark.django_db
def test_a_book_that_was_signed_waits_for_its_own_key(settings, tmp_path):
    a_works()
    assert list(readiness.key_troubles()) == []
    seal_all()
    assert list(readiness.key_troubles()) == []
    settings.SIGNING_KEY_FILE = tmp_path / "lost.pem"
    (found,) = readiness.key_troubles()
    assert "Put its copy back" in found


@pytest.mark.postgresql
@pytest.mark.django_db
def test_an_old_postgresql_and_tables_of_another_program_are_refused(monkeypatch):
    assert list(readiness.record_troubles()) == []
    one_more = readiness.migrations_of_program() | {("ledger", "9999_later")}
    with monkeypatch.context() as patch:
        patch.setattr(readiness, "OLDEST_POSTGRESQL", 99)
        patch.setattr(readiness, "migrations_of_program", lambda: one_more)
        version, tables = readiness.record_troubles()
        assert version.endswith("99 or newer is needed.")
        assert tables == "The tables are older than the program: 1 migrations wait. Run manage.py migrate."
    monkeypatch.setattr(readiness, "migrations_of_database", lambda: one_more)
    (tables,) = readiness.record_troubles()
    assert tables.startswith("The tables are newer than the program.")
