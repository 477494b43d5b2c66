"""The server on PostgreSQL over TLS: it refuses what is not ready, answers, starts again what was killed, and ends."""

import contextlib
import http.client
import os
import signal
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import psycopg
import pytest
import trustme

from tests import engines
from tests.deploy.scripts import cluster, installing, keeping, serve
from tests.sources import BASE

PATIENCE_S = 120
SECRET = "a secret of this test alone, of more than fifty signs, 0123456789"


@pytest.fixture
def plant(django_db_setup, tmp_path):
    """Settings of a migrated plant with a certificate, at a port of its own."""
    issued = trustme.CA().issue_cert("localhost")
    issued.private_key_pem.write_to_path(tmp_path / "key.pem")
    issued.cert_chain_pems[0].write_to_path(tmp_path / "cert.pem")
    (tmp_path / "var").mkdir()
    files = {"CERTIFICATE_FILE": str(tmp_path / "cert.pem"), "CERTIFICATE_KEY_FILE": str(tmp_path / "key.pem")}
    own = {"SECRET_KEY": SECRET, "VAR_DIR": str(tmp_path / "var"), "WEB_PROCESSES": "1"}
    with engines.another(tmp_path, "plant", migrated=True) as addresses:
        listen = {"LISTEN": f"127.0.0.1:{cluster.free_port()}"}
        yield installing.settings_left_out() | addresses | files | own | listen


@contextlib.contextmanager
def serving(settings: dict[str, str]) -> Iterator[subprocess.Popen]:
    command = [sys.executable, "deploy/serve.py"]
    with subprocess.Popen(command, cwd=BASE, env=settings, stderr=subprocess.PIPE, text=True) as server:
        try:
            yield server
        finally:
            if server.poll() is None:
                server.send_signal(signal.SIGTERM)


def health(settings: dict[str, str]) -> tuple[int, str, str]:
    """Status, words and the header of https only of the health address over TLS, asked until somebody answers."""
    trust = ssl._create_unverified_context()
    ends = time.monotonic() + PATIENCE_S
    while True:
        there = http.client.HTTPSConnection(settings["LISTEN"], context=trust, timeout=PATIENCE_S)
        with contextlib.closing(there):
            try:
                there.request("GET", "/health/", headers={"Host": "localhost"})
                answer = there.getresponse()
                return answer.status, answer.read().decode(), answer.getheader("Strict-Transport-Security", "")
            except OSError:
                if time.monotonic() > ends:
                    raise
                time.sleep(0.2)


def children(parent: int) -> dict[str, int]:
    """Programs that a process started: its number by the last word of its command."""
    listed = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
    words = {int(one): Path(f"/proc/{one}/cmdline").read_text().split("\0") for one in listed}
    return {"worker" if "worker" in told else "web": number for number, told in words.items()}


@pytest.mark.postgresql
def test_a_plant_is_served_over_tls_and_outlives_the_loss_of_either_program(plant):
    with serving(plant) as server:
        assert health(plant) == (200, "well\n", "max-age=31536000")
        first = children(server.pid)
        for name in ("worker", "web"):
            os.kill(first[name], signal.SIGKILL)
            said = server.stderr.readline()
            assert "is started again" in (server.stderr.readline() if said.startswith("It runs as root") else said)
        assert health(plant)[0] == 200
        second = children(server.pid)
        assert first.keys() == second.keys() == {"web", "worker"}
        assert not set(first.values()) & set(second.values())
        server.send_signal(signal.SIGTERM)
        assert server.wait(PATIENCE_S) == 0
    for number in second.values():
        with pytest.raises(ProcessLookupError):
            os.kill(number, 0)


@pytest.mark.postgresql
def test_a_plant_that_is_not_ready_is_not_served_and_every_reason_is_told(plant):
    with psycopg.connect(plant["OWNER_DATABASE_URL"]) as owner:
        owner.execute("drop trigger ledger_entry_no_update on ledger_entry")
    done = subprocess.run(
        [sys.executable, "deploy/serve.py"],
        cwd=BASE,
        env=plant | {"DEBUG": "1", "SECRET_KEY": "short"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    debug, secret, triggers = done.stderr.splitlines()
    assert debug.startswith("DEBUG is on")
    assert secret.startswith("SECRET_KEY is too easily guessed")
    assert triggers.startswith("1 triggers are missing or changed, ledger_entry_no_update first.")


@pytest.mark.postgresql
def test_the_owner_does_not_serve(plant):
    done = subprocess.run(
        [sys.executable, "deploy/serve.py", "--only", "worker"],
        cwd=BASE,
        env=plant | {"DATABASE_URL": plant["OWNER_DATABASE_URL"]},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "owner's rights" in done.stderr


def test_a_program_that_ends_again_and_again_is_given_up(monkeypatch, capsys):
    monkeypatch.setattr(keeping, "PAUSE_S", 0)
    program = keeping.Kept("program", [sys.executable, "-c", ""], reload=signal.SIGTERM)
    program.start()
    while program.look_after():
        time.sleep(0.01)
    told = capsys.readouterr().err
    assert told.count("is started again") == keeping.OFTEN - 1
    assert "ended 5 times in a minute" in told


def test_an_end_that_was_asked_for_does_not_count(monkeypatch, capsys):
    program = keeping.Kept("program", ["sleep", "60"], reload=signal.SIGTERM)
    program.start()
    for _ in range(keeping.OFTEN + 1):
        ended = program._process
        program.take_up_changes()
        ended.wait(PATIENCE_S)
        assert program.look_after()
    program.end(PATIENCE_S)
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(("certificate", "one_queue"), [("", True), ("cert.pem", False)])
def test_behind_a_proxy_requests_wait_in_one_queue_and_without_one_connections_stay(certificate, one_queue):
    told = {"LISTEN": "127.0.0.1:8000", "WEB_PROCESSES": 2}
    settings = SimpleNamespace(**told, CERTIFICATE_FILE=certificate, CERTIFICATE_KEY_FILE="key.pem")
    command = serve.web_command(settings)
    assert ("--keep-alive" in command) is one_queue
    if one_queue:
        assert command[command.index("--keep-alive") + 1] == "0"
        assert command[command.index("--worker-connections") + 1] == command[command.index("--threads") + 1]
