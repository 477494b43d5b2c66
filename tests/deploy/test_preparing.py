"""What a prepared machine gets: settings, roles, units and a proxy's file, held against the linters that are here."""

import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import psycopg
import pytest
import trustme

from plant.catalogue.opening_file import opening_of
from tests.deploy.scripts import cluster, installing, prepare

PLACES = prepare.Places()


@pytest.fixture
def places(tmp_path):
    places = replace(PLACES, settings=tmp_path / "settings", owner=tmp_path / "owner", units=tmp_path)
    places.settings.write_text(prepare.settings_text(places, "records.tarnside.example"))
    places.owner.write_text("OWNER_DATABASE_URL=" + prepare.address(cluster.OWNER, "of-the-owner") + "\n")
    return places


def test_each_plant_gets_settings_of_its_own_without_the_owners_address(places):
    one, other = (prepare.settings_text(places, "records.tarnside.example") for _ in range(2))
    assert one != other
    assert "OWNER_DATABASE_URL" not in one
    assert "PASSWORD" not in one
    assert prepare.host_of(places) == "records.tarnside.example"
    assert len(prepare.value_of(places.settings, "SECRET_KEY")) >= 50
    assert prepare.value_of(places.settings, "VAR_DIR") == "/var/lib/framethread"


def test_the_opening_to_fill_in_opens_a_works_and_its_manager_has_a_password_of_their_own():
    one, other = (opening_of(json.loads(prepare.opening_text())) for _ in range(2))
    assert len(one.people[0].password) >= 10
    assert one.people[0].password != other.people[0].password


def test_a_backup_may_write_where_the_settings_say(places):
    text = places.settings.read_text().replace("BACKUP_FOLDER=/var/backups/framethread", "BACKUP_FOLDER=/mnt/other")
    places.settings.write_text(text)
    assert (
        "ReadWritePaths=/var/lib/framethread /mnt/other\n" in prepare.unit_texts(places)["framethread-backup.service"]
    )


def test_nothing_is_left_to_fill_in(places):
    texts = [*prepare.unit_texts(places).values(), prepare.proxy_text(places, "h", Path("/c"), Path("/k"))]
    assert [found for text in texts for found in re.findall(r"@\w+@", text)] == []


if shutil.which("systemd-analyze"):

    def test_systemd_takes_the_units(places, tmp_path):
        for name, text in prepare.unit_texts(places).items():
            (tmp_path / name).write_text(text)
        files = [tmp_path / name for name in (*prepare.UNITS, prepare.TIMER)]
        done = subprocess.run(["systemd-analyze", "verify", *files], capture_output=True, text=True, check=False)
        assert (done.returncode, [line for line in done.stderr.splitlines() if "framethread" in line]) == (0, [])


if shutil.which("nginx"):

    def test_nginx_takes_the_proxys_file(places, tmp_path):
        issued = trustme.CA().issue_cert("records.tarnside.example")
        issued.cert_chain_pems[0].write_to_path(tmp_path / "cert.pem")
        issued.private_key_pem.write_to_path(tmp_path / "key.pem")
        text = prepare.proxy_text(places, "records.tarnside.example", tmp_path / "cert.pem", tmp_path / "key.pem")
        (tmp_path / "site.conf").write_text(text.replace("/var/log/nginx", str(tmp_path)))
        whole = f"pid {tmp_path}/pid; error_log {tmp_path}/errors; events {{}} http {{ include {tmp_path}/site.conf; }}"
        (tmp_path / "nginx.conf").write_text(whole)
        command = ["nginx", "-t", "-q", "-e", tmp_path / "first-errors", "-c", tmp_path / "nginx.conf"]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert (done.returncode, done.stderr) == (0, "")


def test_a_database_elsewhere_is_left_to_its_keeper(places, capsys):
    places.owner.write_text("OWNER_DATABASE_URL=postgres://o:p@db.tarnside.example/framethread\n")
    prepare.make_database(places, psql=["false"])
    assert "on another machine" in capsys.readouterr().out


def test_a_setting_that_is_missing_is_told_by_its_file(places):
    places.owner.write_text("")
    with pytest.raises(installing.CannotStart, match="owner does not set OWNER_DATABASE_URL"):
        prepare.make_database(places)


@pytest.mark.postgresql
@pytest.mark.skipif(cluster.binaries() is None, reason="PostgreSQL is not installed on this machine")
def test_roles_and_database_are_made_once_and_the_program_gets_no_more_than_it_needs(places):
    with cluster.temporary() as own:
        superuser = own.folder, own.port, cluster.SUPERUSER
        psql = ["psql", "-X", "-q", "-v", "ON_ERROR_STOP=1", "-h", superuser[0], "-p", str(superuser[1])]
        psql += ["-U", superuser[2], "postgres"]
        with psycopg.connect(own.address(cluster.OWNER), autocommit=True) as there:
            there.execute("create database spare")
        with psycopg.connect(own.address(cluster.OWNER, "spare"), autocommit=True) as there:
            there.execute("drop database framethread")
        for _ in range(2):
            prepare.make_database(places, psql)
        with psycopg.connect(own.address(cluster.OWNER)) as owner:
            assert owner.execute("show server_encoding").fetchone() == ("UTF8",)
            owner.execute("create table t (id int)")
        with psycopg.connect(own.address(cluster.PROGRAM)) as program:
            asked = "select rolsuper or rolcreatedb or rolcreaterole from pg_roles where rolname = current_user"
            assert program.execute(asked).fetchone() == (False,)
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                program.execute("create table mine (id int)")
