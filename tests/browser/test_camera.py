"""The camera in place of a hand scanner, fed with a film that shows a symbol made by another library."""

from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from django.test import Client
from playwright.sync_api import BrowserType, expect

from tests import worlds
from tests.browser.conftest import FLAGS
from tests.browser.test_tablet import BENCH, enter

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]

WIDE, HIGH, FRAMES = 640, 480, 10
SERIAL = f"[)>\x1e06\x1dS{worlds.HERE}\x1d1POSIER\x1e\x04".encode()
SYMBOLS = {
    "15434 Data Matrix": (SERIAL, zxingcpp.BarcodeFormat.DataMatrix, {"force_square": True}),
    "GS1 DataMatrix": (
        f"(01)09521234544081(21){worlds.HERE}",
        zxingcpp.BarcodeFormat.DataMatrix,
        {"gs1": True, "force_square": True},
    ),
    "QR Digital Link": (
        f"https://id.tarnside.example/01/09521234544081/21/{worlds.HERE}",
        zxingcpp.BarcodeFormat.QRCode,
        {"ec_level": "Q"},
    ),
}


def a_film(path: Path, what: str) -> Path:
    """A film (YUV4MPEG2) of one still picture: the symbol in the middle, as large as a hand holds it."""
    text, kind, more = SYMBOLS[what]
    symbol = np.array(zxingcpp.create_barcode(text, kind, **more).to_image(scale=8))
    light = np.full((HIGH, WIDE), 235, np.uint8)
    top, left = (HIGH - symbol.shape[0]) // 2, (WIDE - symbol.shape[1]) // 2
    light[top : top + symbol.shape[0], left : left + symbol.shape[1]] = np.where(symbol > 127, 235, 16)
    colour = np.full(WIDE * HIGH // 2, 128, np.uint8)
    frame = b"FRAME\n" + light.tobytes() + colour.tobytes()
    path.write_bytes(f"YUV4MPEG2 W{WIDE} H{HIGH} F10:1 Ip A1:1 C420jpeg\n".encode() + frame * FRAMES)
    return path


@pytest.fixture(autouse=True)
def week() -> None:
    worlds.a_straight_week()


def launched(browser_type: BrowserType, arguments: dict, film: Path | None):
    flags = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
    flags += [f"--use-file-for-fake-video-capture={film}"] if film else []
    return browser_type.launch(executable_path=arguments["executable_path"], args=[*FLAGS, *(flags if film else [])])


@pytest.mark.parametrize("what", SYMBOLS)
def test_a_symbol_before_the_camera_opens_its_unit(what, browser_type, browser_type_launch_args, base_url, tmp_path):
    film = a_film(tmp_path / "film.y4m", what)
    with launched(browser_type, browser_type_launch_args, film) as browser:
        page = browser.new_context(base_url=base_url).new_page()
        complaints: list[str] = []
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        enter(page, "operator")
        page.get_by_role("link", name="Camera").click()
        expect(page.get_by_role("heading", level=1)).to_have_text(worlds.HERE, timeout=20_000)
        assert [text for text in complaints if "Content Security Policy" in text] == []


def test_without_a_camera_the_page_says_what_to_use(browser_type, browser_type_launch_args, base_url):
    with launched(browser_type, browser_type_launch_args, None) as browser:
        page = browser.new_context(base_url=base_url).new_page()
        enter(page, "operator")
        page.get_by_role("link", name="Camera").click()
        expect(page.get_by_text("Use the hand scanner, or type the code.")).to_be_visible()
        page.get_by_role("link", name="Back without a scan").click()
        expect(page).to_have_url(f"{base_url}{BENCH}")


def test_the_page_of_the_camera_alone_may_run_the_decoder():
    client: Client = worlds.signed_in("operator")
    policies = {
        address: client.get(address).headers["Content-Security-Policy"] for address in ("/floor/camera/", BENCH)
    }
    assert [("wasm-unsafe-eval" in policy) for policy in policies.values()] == [True, False]


@pytest.mark.parametrize("what", ["15434 Data Matrix"])
def test_the_decoder_works_without_a_link_once_the_tablet_says_that_it_is_there(
    what, browser_type, browser_type_launch_args, base_url, tmp_path
):
    film = a_film(tmp_path / "film.y4m", what)
    with launched(browser_type, browser_type_launch_args, film) as browser:
        context = browser.new_context(base_url=base_url)
        context.add_init_script("delete globalThis.BarcodeDetector")
        page = context.new_page()
        enter(page, "lead")
        page.goto("/floor/tablet/")
        expect(page.get_by_text("reads symbols without a link too")).to_be_visible(timeout=20_000)
        page.goto(BENCH)
        context.set_offline(True)
        page.get_by_role("link", name="Camera").click()
        expect(page.get_by_role("heading", level=1)).to_have_text(worlds.HERE, timeout=20_000)
        assert page.locator("[data-shell]").count() == 1
