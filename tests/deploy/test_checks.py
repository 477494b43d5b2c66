"""What the one command of all checks makes of a run."""

import signal
import subprocess
import sys

import psycopg
import pytest

from tests.deploy.scripts import checks, cluster, installing

CASES = {
    "passed": '<testcase classname="t" name="a"/>',
    "failed": '<testcase classname="t" name="b"><failure message="no"/></testcase>',
    "skipped": '<testcase classname="t" name="c"><skipped message="no browser"/></testcase>',
}


@pytest.fixture
def report(tmp_path):
    def write(*kinds):
        path = tmp_path / "report.xml"
        path.write_text(f"<testsuites><testsuite>{''.join(CASES[kind] for kind in kinds)}</testsuite></testsuites>")
        return path

    return write


def test_a_run_in_which_all_passed_is_good(report):
    outcome = checks.judged(0, report("passed", "passed"))
    assert (outcome.good, outcome.words) == (True, "2 passed")


def test_a_run_that_ended_badly_is_bad(report):
    outcome = checks.judged(1, report("passed", "failed"))
    assert (outcome.good, outcome.words) == (False, "1 passed, 1 failed")


@pytest.mark.parametrize(("ci", "good"), [("true", False), ("", True)])
def test_a_skip_is_named_and_on_the_build_machine_it_is_a_failure(report, monkeypatch, ci, good):
    monkeypatch.setenv("CI", ci)
    outcome = checks.judged(0, report("passed", "skipped"))
    assert (outcome.good, outcome.skipped) == (good, ["t.c: no browser"])
    assert "skipped on sqlite: t.c: no browser" in checks.summary([("sqlite", outcome, 1.0)])


def test_a_step_that_failed_stands_out_in_the_summary():
    text = checks.summary([("lint", checks.Outcome(False), 1.25), ("types", checks.Outcome(True), 2.0)])
    assert text.splitlines()[2:] == ["lint         BAD          1.2", "types        good         2.0"]


def test_a_program_ends_with_the_block_that_started_it():
    with installing.started([sys.executable, "-c", "import time; time.sleep(60)"]) as program:
        assert program.poll() is None
    assert program.returncode == -signal.SIGINT


def test_a_program_that_does_not_listen_is_ended_for_good():
    deaf = (
        "import signal, time; signal.signal(signal.SIGINT, signal.SIG_IGN); print('deaf', flush=True); time.sleep(60)"
    )
    with installing.started([sys.executable, "-c", deaf], output=subprocess.PIPE) as program:
        assert program.stdout.readline() == b"deaf\n"
        installing.end(program, patience_s=0.2)
    program.stdout.close()
    program.stderr.close()
    assert program.returncode == -signal.SIGKILL


@pytest.mark.postgresql
@pytest.mark.skipif(cluster.binaries() is None, reason="PostgreSQL is not installed on this machine")
def test_a_cluster_of_our_own_lets_two_roles_in_and_leaves_nothing_behind():
    with cluster.temporary() as own:
        for address in own.environment.values():
            with psycopg.connect(address) as connection:
                assert connection.execute("select usesuper from pg_user where usename = current_user").fetchone() == (
                    False,
                )
        with pytest.raises(psycopg.OperationalError, match="pg_hba"):
            psycopg.connect(own.address(cluster.SUPERUSER, "postgres"))
    assert not own.folder.exists()
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(own.environment["DATABASE_URL"])
