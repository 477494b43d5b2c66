"""Make the pictures of README.md from the invented works: installed, filled, served and photographed anew each time.

    python3 deploy/pictures.py            writes deploy/pictures/*.png

It takes about two minutes. Exit 0: made. 2: something is missing or in the way; one sentence says what.
"""

from __future__ import annotations

import argparse
import importlib
import io
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cluster import free_port
from installing import (
    BASE,
    CANNOT,
    PYTHON,
    VENV,
    CannotStart,
    chromium_path,
    end_in_order_when_told,
    install,
    run,
    started,
)

FOLDER = BASE / "deploy" / "pictures"
COLOURS = 96  # of a picture: pages have few, and a small file is read everywhere
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--hide-scrollbars")
PART = "join items_itemstate state on state.item_id = "


@dataclass(frozen=True)
class Picture:
    """One page: its name, who looks at it, where it stands, the question that finds its code, and how tall it is."""

    name: str
    role: str
    address: str
    question: str
    height: int
    width: int = 1280


A_REWORKED_FRAME = f"select state.code from items_link link {PART} link.child_id where link.status = 2 limit 1"
A_CURE_OUTSIDE = """
    select run.code from runs_assessment found join runs_run run on run.id = found.run_id
    where found.verdict = 'outside' and run.kind = 'cure' order by found.id limit 1
"""
A_FRAME_TO_CHECK = f"""
    select state.code from steps_waiting waiting {PART} waiting.unit_id
    join catalogue_operation operation on operation.id = waiting.operation_id
    where operation.name = 'final' and state."where" = 'here' order by waiting.since limit 1
"""
PICTURES = (
    Picture("unit", "review", "/trace/unit/{}/", A_REWORKED_FRAME, 900),
    Picture("whereused", "review", "/trace/lot-to-frames/{}/", "", 1330),
    Picture("run", "review", "/curves/run/{}/", A_CURE_OUTSIDE, 860),
    Picture("chart", "engineer", "/charts/OS-F/shell-width/", "", 1010),
    Picture("floor", "operator", "/floor/at/ST-26-000009-9/unit/{}/", A_FRAME_TO_CHECK, 800),
    Picture("plant", "manager", "/plant/", "", 900),
)


@contextmanager
def served(trial: Any) -> Iterator[str]:
    """The works of the trial served on a free port."""
    port = free_port()
    command = [VENV / "bin" / "gunicorn", "plant.wsgi", "-b", f"127.0.0.1:{port}", "-w", "1", "--log-level", "warning"]
    with started(command, environment=trial.trial_environment()) as server:
        trial.wait_until_it_answers(port, [server])
        yield f"http://127.0.0.1:{port}"


def make() -> None:
    """The works, its server, and then this script once more by the Python that has the browser's driver."""
    install(BASE / "requirements.txt", BASE / "tests" / "requirements.txt")
    chromium = chromium_path()
    if chromium is None:
        raise CannotStart("Chromium is not installed. Install it with: apt-get install chromium")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["VAR_DIR"] = folder
        trial = importlib.import_module("try")  # its name is a word of the language
        trial.make_works()
        with served(trial) as address:
            again = [PYTHON, __file__, "--photograph", address, "--browser", chromium]
            if run(again, environment=dict(os.environ)) != 0:
                raise CannotStart("A page could not be photographed; the lines above say why.")


def photograph(address: str, chromium: str) -> None:
    """Each page by whoever looks at it, at one size, with few colours."""
    from playwright.sync_api import sync_playwright

    trial = importlib.import_module("try")
    badges = dict(reversed([line.split()[:2] for line in trial.SIGN_INS.read_text().splitlines() if line.strip()]))
    password = trial.SIGN_INS.read_text().split()[2]
    FOLDER.mkdir(exist_ok=True)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=list(FLAGS))
        for picture in PICTURES:
            context = browser.new_context(base_url=address, viewport={"width": picture.width, "height": picture.height})
            page = context.new_page()
            page.goto("/sign/in/")
            page.fill("input[name=username]", badges[picture.role])
            page.fill("input[name=password]", password)
            page.keyboard.press("Enter")
            page.wait_for_url(lambda url: "/sign/" not in url)
            code = trial.ask_database(picture.question or trial.A_RESIN_BATCH)
            answer = page.goto(picture.address.format(code))
            if answer is None or not answer.ok:
                raise CannotStart(f"The page {picture.address.format(code)} could not be opened.")
            page.wait_for_load_state("networkidle")  # a tablet's bar first looks for its link
            _keep(page.screenshot(), FOLDER / f"{picture.name}.png")
            context.close()
        browser.close()


def _keep(taken: bytes, file: Path) -> None:
    from PIL import Image

    Image.open(io.BytesIO(taken)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(file, optimize=True)
    print(f"{file.relative_to(BASE)}  {file.stat().st_size // 1000} kB", flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--photograph", metavar="ADDRESS", help=argparse.SUPPRESS)
    parser.add_argument("--browser", help=argparse.SUPPRESS)
    options = parser.parse_args()
    end_in_order_when_told()
    try:
        if options.photograph:
            photograph(options.photograph, options.browser)
        else:
            make()
    except CannotStart as trouble:
        print(trouble, file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print("\nBroken off; everything it started has ended.", file=sys.stderr)
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
