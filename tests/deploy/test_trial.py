"""The trial makes its own works again, and never takes away somebody else's."""

import socket
import sqlite3
from contextlib import closing
from datetime import date, timedelta

import pytest

from tests.deploy.scripts import installing, trial


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A var/ with a database in which one entry stands, and a recorder's file."""
    names = {"VAR": "", "DATABASE": "framethread.sqlite3", "SIGN_INS": "s.txt", "MARK": "m", "RECORDER_FILES": "files"}
    for attribute, name in names.items():
        monkeypatch.setattr(trial, attribute, tmp_path / name)
    with closing(sqlite3.connect(trial.DATABASE)) as database:
        database.execute("create table ledger_entry (id)")
        database.execute("insert into ledger_entry values (1)")
        database.commit()
    trial.RECORDER_FILES.mkdir()
    return tmp_path


@pytest.mark.parametrize("fresh", [True, False])
def test_a_works_that_somebody_else_made_stays(folder, fresh):
    with pytest.raises(installing.CannotStart, match="Move it away"):
        trial.clear(fresh=fresh)
    assert trial.ask_database("select id from ledger_entry") == "1"


def test_a_works_of_its_own_is_taken_as_it_is(folder):
    trial.MARK.write_text(trial.WHOLE)
    trial.clear(fresh=False)
    assert trial.ask_database("select id from ledger_entry") == "1"


@pytest.mark.parametrize(("mark", "fresh"), [(trial.BEGUN, False), (trial.WHOLE, True)])
def test_a_works_broken_off_or_not_wanted_any_more_is_taken_away(folder, mark, fresh):
    trial.MARK.write_text(mark)
    trial.clear(fresh=fresh)
    assert list(folder.iterdir()) == []


def test_tables_without_an_entry_are_nobodys_works(folder):
    with closing(sqlite3.connect(trial.DATABASE)) as database:
        database.execute("delete from ledger_entry")
        database.commit()
    trial.clear(fresh=False)
    assert not trial.DATABASE.exists()


def test_a_port_that_somebody_listens_on_is_not_free():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        port = listener.getsockname()[1]
        assert not trial.is_free(port)
    assert trial.is_free(port)


def test_the_settings_of_the_shell_do_not_reach_the_trial(monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgres://elsewhere/plant")
    environment = trial.trial_environment()
    assert "DATABASE_URL" not in environment
    assert environment["TRIAL"] == "1"


@pytest.mark.parametrize("day", range(1, 9))
def test_the_production_begins_on_a_monday_and_ends_last_week(day):
    today = date(2026, 3, day)
    begins = trial.first_day(today)
    assert begins.weekday() == 0
    assert timedelta(days=0) <= today - (begins + timedelta(weeks=trial.WEEKS)) < timedelta(days=7)
