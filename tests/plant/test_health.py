"""What a machine that watches is told: all is well, or what is not; never who or what."""

import os
from datetime import timedelta

import pytest
from django.db import DatabaseError
from django.test import Client

from plant import health
from records.ledger.clock import clock
from records.ledger.sealing import seal_all
from tests.builders import a_works

pytestmark = pytest.mark.django_db


@pytest.fixture
def asked(settings, tmp_path, clock_at):
    """Asks hours after a works was opened; nothing was sealed and no backup made until a test does."""
    settings.BACKUP_FOLDER = tmp_path
    began = clock_at("2026-03-02T08:00:00+00:00")
    a_works()

    def ask(hours: float) -> tuple[int, str]:
        clock_at(began + timedelta(hours=hours))
        answer = Client().get("/health/")
        return answer.status_code, answer.content.decode()

    return ask


def test_entries_just_made_may_wait_and_old_ones_may_not(asked):
    assert asked(0.01) == (200, "well\n")
    assert asked(1) == (503, "Entries wait to be sealed: the worker does not run, or can't.\n")
    seal_all()
    assert asked(1) == (200, "well\n")


def test_a_backup_is_due_each_night(asked, settings, tmp_path):
    seal_all()
    assert asked(49)[0] == 200
    assert asked(51) == (503, "The newest backup is too old, or there is none.\n")
    made = tmp_path / "framethread-20260304T023000Z.tar"
    made.touch()
    at = clock.now().timestamp()
    os.utime(made, (at, at))
    assert asked(100)[0] == 200
    assert asked(102)[0] == 503
    settings.TRIAL = True
    assert asked(102)[0] == 200


def test_a_database_that_does_not_answer_is_told(asked, monkeypatch):
    def fail(_):
        raise DatabaseError

    monkeypatch.setattr(health, "sealing_troubles", fail)
    assert asked(0) == (503, "The database does not answer.\n")
