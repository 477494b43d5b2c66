"""The virtual environment of the scripts beside this file, and how they run and end other programs."""

from __future__ import annotations

import contextlib
import ctypes
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from pathlib import Path

BASE = Path(__file__).resolve().parent.parent
VENV = BASE / ".venv"
PYTHON = VENV / "bin" / "python"
OLDEST_PYTHON = (3, 11)
CANNOT = 2


class CannotStart(Exception):
    """Something is missing that the script may not get by itself: one sentence that says what to do."""


def install(*requirements: Path) -> None:
    """Make the virtual environment and put in what the files pin; what is there already is left."""
    if sys.version_info < OLDEST_PYTHON:
        raise CannotStart("Python 3.11 or newer is needed; this is " + sys.version.split()[0] + ".")
    if not has_pip():
        make_venv()
    pins = sha256(b"".join(file.read_bytes() for file in requirements)).hexdigest()
    stamp = VENV / f"installed-{len(requirements)}"
    if stamp.exists() and stamp.read_text() == pins:
        return
    files = [option for file in requirements for option in ("-r", str(file))]
    command = [PYTHON, "-m", "pip", "install", "--disable-pip-version-check", "--only-binary", ":all:"]
    if run([*command, "--require-hashes", "-q", *files]) != 0:
        raise CannotStart("The packages could not be installed; the lines above say why.")
    stamp.write_text(pins)


def go_on_with_packages() -> None:
    """Begin the script anew by the Python that has the program's packages, unless it runs by such a one."""
    is_other_venv = sys.prefix != sys.base_prefix and importlib.util.find_spec("django") is not None
    if Path(sys.prefix) == VENV or is_other_venv:
        return
    install(BASE / "requirements.txt")
    os.execv(PYTHON, [str(PYTHON), *sys.argv])


def has_pip() -> bool:
    """Whether a whole virtual environment is there; one that was broken off has no pip."""
    return PYTHON.exists() and run([PYTHON, "-c", "import pip"], quiet=True) == 0


def make_venv() -> None:
    if any(importlib.util.find_spec(name) is None for name in ("venv", "ensurepip")):
        raise CannotStart("Python lacks venv and pip. Install one package: apt-get install python3-venv")
    if run([sys.executable, "-m", "venv", "--clear", VENV]) != 0:
        raise CannotStart(f"The virtual environment {VENV} could not be made. Remove it and start again.")


def apt_get(package: str) -> bool:
    """Install a Debian package where that is possible without asking; whether it was."""
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        return False
    environment = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    install_it = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", package]
    if run(install_it, environment=environment) == 0:
        return True
    # The list of packages may be missing or old.
    return run(["apt-get", "update", "-qq"]) == 0 and run(install_it, environment=environment) == 0


# The same browser without windows, tabs and their drawing: a page costs it half the work.
BARE_CHROMIUM = "chromium-headless-shell"


def chromium_path() -> str | None:
    """The browser: Debian's own, never a download of the test tool."""
    found = (shutil.which(name) for name in (BARE_CHROMIUM, "chromium", "chromium-browser"))
    return os.environ.get("CHROMIUM") or next(filter(None, found), None)


def run(command: Iterable[object], *, environment: Mapping[str, str] | None = None, quiet: bool = False) -> int:
    """Run a program to its end and return its exit code; when this script is told to end, the program ends first."""
    with started(command, environment=environment, output=subprocess.DEVNULL if quiet else None) as program:
        return program.wait()


@contextlib.contextmanager
def started(
    command: Iterable[object], *, environment: Mapping[str, str] | None = None, output: int | None = None
) -> Iterator[subprocess.Popen]:
    """A program that runs no longer than the block. It gets no Ctrl-C of its own, so that it ends in order."""
    program = subprocess.Popen(
        [str(part) for part in command],
        cwd=BASE,
        env=None if environment is None else dict(environment),
        stdin=subprocess.DEVNULL,
        stdout=output,
        stderr=output,
        start_new_session=True,
        preexec_fn=hear_and_follow,
    )
    try:
        yield program
    finally:
        end(program)


SET_DEATH_SIGNAL = 1  # PR_SET_PDEATHSIG of prctl(2)


def hear_and_follow() -> None:
    """A program of ours hears Ctrl-C, and ends in order when this script is killed and can't end it.

    A job in the background is started deaf to Ctrl-C and hands that on.
    """
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    ctypes.CDLL(None).prctl(SET_DEATH_SIGNAL, signal.SIGTERM)


def end(program: subprocess.Popen, patience_s: float = 20) -> None:
    """End a program as Ctrl-C would, then for good."""
    for number in (signal.SIGINT, signal.SIGKILL):
        if program.poll() is not None:
            return
        with contextlib.suppress(ProcessLookupError):
            os.killpg(program.pid, number)
        with contextlib.suppress(subprocess.TimeoutExpired):
            program.wait(patience_s)


def end_in_order_when_told() -> None:
    """SIGTERM counts as Ctrl-C, so that every block that ends a program is left."""

    def told(*_: object) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, told)


def settings_left_out() -> dict[str, str]:
    """The environment without the settings of the program, so that a script decides them alone."""
    listed = (BASE / "deploy" / "env.example").read_text().splitlines()
    names = {line.lstrip("# ").split("=")[0] for line in listed if "=" in line}
    return {name: value for name, value in os.environ.items() if name not in names}
