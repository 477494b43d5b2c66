"""A label as a printer would print it: its size, modules of whole dots, the symbol read back at each density.

What a symbol must say is our own; that it says it is told by another library that reads it from the drawn page.
"""

import io
import shutil
import subprocess
from datetime import date
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageDraw

from plant.messages import Message, Named, message_of, owner_link
from plant.papers.label import DENSITIES, HEIGHT, LEAST_MODULE, WIDTH, LabelFacts, label_pdf, module_of, modules_of
from plant.scans import read_scan
from tests.papers import words_of

CODE = "TW-26-000396-8"
TOKEN = "7K2MX0Q9ZB4T1V8RNCJ5WDH3GY"
PREFIX = "952123454"  # 952 is reserved by GS1 for examples
FRAME = Named(CODE, is_unit=True, copy=1, part="OSIER", reference=408)
POT = Named(
    "PT-26-000371-0",
    is_unit=False,
    copy=3,
    part="RMX",
    reference=404,
    made_on=date(2026, 9, 17),
    good_until=date(2026, 9, 18),
)
OF_FRAME = b"[)>\x1e06\x1dSTW-26-000396-8\x1d1POSIER\x1dZ1\x1e\x04"
# What is named, by which form, the identifier and content that a reader must tell, modules a side, the bytes.
SYMBOLS = {
    "frame, 15434": (
        message_of(FRAME),
        "]d1",
        "ISO15434",
        22,
        b"[)>\x1e06\x1dSTW-26-000396-8\x1d1POSIER\x1dZ1\x1e\x04",
    ),
    "pot, 15434": (
        message_of(POT),
        "]d1",
        "ISO15434",
        26,
        b"[)>\x1e06\x1d1TPT-26-000371-0\x1d1PRMX\x1dZ3\x1d16D20260917\x1d14D20260918\x1e\x04",
    ),
    "frame, GS1": (message_of(FRAME, PREFIX), "]d2", "GS1", 22, b"010952123454408121TW-26-000396-8\x1d90L1"),
    "pot, GS1": (
        message_of(POT, PREFIX),
        "]d2",
        "GS1",
        24,
        b"0109521234544043112609171726091810PT-26-000371-0\x1d90L3",
    ),
    "frame, its owner's": (
        owner_link(FRAME, PREFIX, "https://id.tarnside.example", TOKEN),
        "]Q1",
        "Text",
        41,
        b"https://id.tarnside.example/f/7K2MX0Q9ZB4T1V8RNCJ5WDH3GY/01/09521234544081/21/TW-26-000396-8",
    ),
}


def facts(
    message: Message | None = None, copy: int = 1, lines: tuple[str, ...] = ("Osier frame, OSIER",)
) -> LabelFacts:
    return LabelFacts(message or message_of(FRAME), CODE, lines, f"Tarnside Works, label {copy}", has_figure=True)


def printed(file: bytes, dots: int, folder: Path) -> Image.Image:
    """The page as a printer of so many dots an inch sets it: black or white."""
    if shutil.which("pdftoppm") is None:
        document = pypdfium2.PdfDocument(file)
        picture = document[0].render(scale=dots / 72, grayscale=True).to_pil()
        document.close()
    else:
        (folder / "label.pdf").write_bytes(file)
        command = ["pdftoppm", "-r", str(dots), "-png", "-gray", "-singlefile", "label.pdf", "label"]
        subprocess.run(command, check=True, cwd=folder)
        picture = Image.open(folder / "label.png")
    return picture.point(lambda light: 255 if light > 127 else 0)


@pytest.mark.parametrize("dots", DENSITIES)
@pytest.mark.parametrize("what", SYMBOLS)
def test_the_symbol_is_read_back_byte_for_byte_as_the_printer_draws_it(what, dots, tmp_path):
    message, identifier, content, side, told = SYMBOLS[what]
    (found,) = zxingcpp.read_barcodes(printed(label_pdf(facts(message), dots), dots, tmp_path))
    assert (found.bytes, found.symbology_identifier, found.content_type.name) == (told, identifier, content)
    modules, _ = modules_of(message)
    assert (len(modules), len(modules[0])) == (side, side)


@pytest.mark.parametrize("what", SYMBOLS)
def test_what_is_read_back_is_the_thing_and_the_number_of_its_label(what):
    message, identifier, _, _, told = SYMBOLS[what]
    scan = read_scan(identifier + told.decode())
    named = POT if "pot" in what else FRAME
    assert (scan.code, scan.copy) == (named.code, None if message.form == "link" else named.copy)


@pytest.mark.parametrize(
    ("what", "least"), [("frame, GS1", 20), ("frame, 15434", 20), ("pot, GS1", 20), ("frame, its owner's", 15)]
)
def test_a_blot_of_a_fifth_of_the_side_leaves_the_symbol_readable(what, least):
    """Twenty places of a square blot inside the symbol: a Data Matrix is read under each; a QR code of level Q loses
    some, as its corners carry more. Measured here with the reader of the tests: common practice sets no number."""
    modules, quiet = modules_of(SYMBOLS[what][0])
    dots = np.kron(np.pad(~np.array(modules), quiet + 4, constant_values=True), np.ones((8, 8), bool))
    side, border = len(modules) * 8, (quiet + 4) * 8
    blot, picture = side // 5, Image.fromarray((dots * 255).astype("uint8"))
    places = np.random.default_rng(4).integers(8, side - blot - 8, (20, 2)) + border
    read = 0
    for x, y in places.tolist():
        marred = picture.copy()
        ImageDraw.Draw(marred).rectangle((x, y, x + blot - 1, y + blot - 1), fill=0)
        read += any(found.bytes == SYMBOLS[what][4] for found in zxingcpp.read_barcodes(marred))
    assert read >= least


@pytest.mark.parametrize("dots", DENSITIES)
@pytest.mark.parametrize(("count", "quiet"), [(10, 1), (24, 1), (26, 1), (36, 1), (52, 1), (33, 4), (41, 4)])
def test_a_module_is_whole_dots_not_too_small_and_the_symbol_has_room(dots, count, quiet):
    module = module_of(dots, count, quiet)
    assert module * dots / 25.4 == pytest.approx(round(module * dots / 25.4))
    assert module >= LEAST_MODULE
    assert module * (count + 2 * quiet) <= HEIGHT - 2


def test_a_label_has_its_exact_size_and_says_its_code_in_letters():
    content = label_pdf(facts(copy=2), 300)
    (page,) = pypdf.PdfReader(io.BytesIO(content)).pages
    assert [float(side) * 25.4 / 72 for side in page.mediabox[2:]] == pytest.approx([WIDTH, HEIGHT], abs=0.01)
    words = words_of(content)
    assert CODE in words
    assert "label 2" in words
    assert label_pdf(facts(copy=2), 300) == content != label_pdf(facts(), 300)


def test_long_words_are_set_smaller_and_a_density_that_no_printer_has_is_refused():
    assert "Ž" * 60 in words_of(label_pdf(facts(lines=("Ž" * 60,)), 203))
    with pytest.raises(ValueError, match="must be one of"):
        label_pdf(facts(), 150)
