"""Everything that must hold before a change goes in: format, lint, types, imports, migrations, tests on two engines.

    python3 deploy/test.py                    all of it
    python3 deploy/test.py --quick            without PostgreSQL and browser
    python3 deploy/test.py --all              the long walks through screens of the floor too, some minutes more
    python3 deploy/test.py --only lint        one step; may be given several times

Exit 0: all good. 1: something does not hold. 2: something is missing that must be installed by hand. With CI=true a
skipped test counts as one that failed.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import cluster
from installing import (
    BARE_CHROMIUM,
    BASE,
    CANNOT,
    PYTHON,
    VENV,
    CannotStart,
    apt_get,
    chromium_path,
    end_in_order_when_told,
    install,
    run,
    settings_left_out,
)

CORES = "2"


@dataclass
class Outcome:
    """What came of a step."""

    good: bool
    words: str = ""
    skipped: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Step:
    """One thing that must hold."""

    name: str
    ask: Callable[[argparse.Namespace], Outcome]


def tool(name: str, *args: str) -> Callable[[argparse.Namespace], Outcome]:
    """A step that is one program of the virtual environment."""

    def ask(_: argparse.Namespace) -> Outcome:
        return Outcome(run([VENV / "bin" / name, *args], environment=settings_left_out()) == 0)

    return ask


def migrations(_: argparse.Namespace) -> Outcome:
    """No model differs from what the migrations make."""
    with tempfile.TemporaryDirectory() as folder:
        environment = settings_left_out() | {"DATABASE_URL": f"sqlite:///{folder}/none.sqlite3"}
        command = [PYTHON, "manage.py", "makemigrations", "--check", "--dry-run"]
        return Outcome(run(command, environment=environment) == 0)


def suite_on_sqlite(options: argparse.Namespace) -> Outcome:
    return suite(settings_left_out(), options)


def suite_on_postgresql(options: argparse.Namespace) -> Outcome:
    """The whole suite as the program's role, in the cluster that the environment names or in one of its own."""
    with postgresql() as addresses:
        return suite(settings_left_out() | addresses, options)


@contextlib.contextmanager
def postgresql() -> Iterator[dict[str, str]]:
    """The two addresses of a cluster."""
    given = {name: os.environ.get(name, "") for name in ("DATABASE_URL", "OWNER_DATABASE_URL")}
    if given["OWNER_DATABASE_URL"]:
        if not given["DATABASE_URL"].startswith("postgres"):
            raise CannotStart("OWNER_DATABASE_URL is set; set DATABASE_URL too, with the program's own role.")
        yield given
        return
    with cluster.temporary() as own:
        yield own.environment


def suite(environment: dict[str, str], options: argparse.Namespace) -> Outcome:
    """The tests, and what was skipped."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        command = [PYTHON, "-m", "pytest", "-q", "-n", CORES, "--dist", "worksteal", f"--junitxml={report}"]
        if not options.all:
            command += ["-m", "not browser" if options.quick else "not unhurried"]
        chromium = chromium_path()
        if chromium:
            environment = environment | {"CHROMIUM": chromium}
        code = run(command, environment=environment)
        if not report.exists():
            return Outcome(False, "no report")
        return judged(code, report)


def judged(code: int, report: Path) -> Outcome:
    """Exit code and report of a run as an outcome."""
    cases = ET.parse(report).getroot().findall(".//testcase")
    skipped = [
        f"{case.get('classname')}.{case.get('name')}: {reason.get('message')}"
        for case in cases
        for reason in case.findall("skipped")
    ]
    failed = sum(case.find("failure") is not None or case.find("error") is not None for case in cases)
    words = f"{len(cases) - len(skipped) - failed} passed"
    words += f", {failed} failed" * bool(failed) + f", {len(skipped)} skipped" * bool(skipped)
    return Outcome(code == 0 and not (skipped and os.environ.get("CI") == "true"), words, skipped)


STEPS = (
    Step("format", tool("ruff", "format", "--check", ".")),
    Step("lint", tool("ruff", "check", ".")),
    Step("types", tool("mypy")),
    Step("imports", tool("lint-imports")),
    Step("migrations", migrations),
    Step("sqlite", suite_on_sqlite),
    Step("postgresql", suite_on_postgresql),
)


def get_ready(names: list[str], *, with_browser: bool) -> None:
    """Install what the steps need."""
    install(BASE / "requirements.txt", BASE / "tests" / "requirements.txt")
    wanted = []
    if with_browser and {"sqlite", "postgresql"} & set(names) and not has_bare_chromium() and chromium_path() is None:
        wanted.append("chromium")
    if "postgresql" in names and not os.environ.get("OWNER_DATABASE_URL") and cluster.binaries() is None:
        wanted.append("postgresql")
    missing = [package for package in wanted if not apt_get(package)]
    if missing:
        raise CannotStart(f"Not installed: {', '.join(missing)}. Install with: apt-get install {' '.join(missing)}")


def has_bare_chromium() -> bool:
    """The quicker browser is there, or could be had without asking; any other Chromium does as well, in more time."""
    return "CHROMIUM" in os.environ or shutil.which(BARE_CHROMIUM) is not None or apt_get(BARE_CHROMIUM)


def take(step: Step, options: argparse.Namespace) -> tuple[Outcome, float]:
    """Take one step, and the seconds it took."""
    print(f"\n--- {step.name}", flush=True)
    begun = time.monotonic()
    outcome = step.ask(options)
    return outcome, time.monotonic() - begun


def summary(rows: list[tuple[str, Outcome, float]]) -> str:
    """One table over all steps, and every skipped test by name."""
    lines = ["", f"{'step':<12} {'result':<8} {'seconds':>7}"]
    lines += [
        f"{name:<12} {'good' if outcome.good else 'BAD':<8} {seconds:>7.1f}  {outcome.words}".rstrip()
        for name, outcome, seconds in rows
    ]
    lines += [f"skipped on {name}: {test}" for name, outcome, _ in rows for test in outcome.skipped]
    return "\n".join(lines)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="SQLite only, no browser")
    parser.add_argument("--all", action="store_true", help="the long walks through screens too")
    parser.add_argument("--only", action="append", choices=[step.name for step in STEPS], metavar="STEP")
    options = parser.parse_args()
    chosen = [step for step in STEPS if not options.only or step.name in options.only]
    if options.quick:
        chosen = [step for step in chosen if step.name != "postgresql"]
    end_in_order_when_told()
    rows: list[tuple[str, Outcome, float]] = []
    begun = time.monotonic()
    try:
        get_ready([step.name for step in chosen], with_browser=not options.quick)
        rows.append(("install", Outcome(True), time.monotonic() - begun))
        rows += [(step.name, *take(step, options)) for step in chosen]
    except (CannotStart, cluster.NoCluster) as trouble:
        print(trouble, file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print("\nBroken off; everything it started has ended.", file=sys.stderr)
        return 130
    print(summary(rows))
    return 0 if all(outcome.good for _, outcome, _ in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
