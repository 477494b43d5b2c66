"""Settings that can't be read are told in one sentence."""

import os
import subprocess
import sys

import pytest
from django.core.exceptions import ImproperlyConfigured

from plant.settings import database


@pytest.mark.parametrize("address", ["rubbish", "", "mysql://u@h/d", "postgres://u:secret@h:port/d", ":memory:"])
def test_what_is_no_address_of_a_database_is_refused_without_telling_it(address):
    with pytest.raises(ImproperlyConfigured, match="is no address of a database") as refused:
        database(address)
    assert "secret" not in str(refused.value)


def test_a_command_ends_with_the_sentence_and_exit_2():
    done = subprocess.run(
        [sys.executable, "manage.py", "whereused", "RB-1"],
        env=os.environ | {"DATABASE_URL": "rubbish"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1)
