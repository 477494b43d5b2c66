"""A label as a printer would print it: its size, modules of whole dots, the symbol read back at each density."""

import io

import pypdf
import pypdfium2
import pytest
import zxingcpp

from plant.papers.label import DENSITIES, HEIGHT, LEAST_MODULE, WIDTH, LabelFacts, label_pdf, module_of
from plant.scans import label_message
from tests.papers import words_of

CODE = "TW-26-000396-8"


def facts(copy: int = 1, *, lines: tuple[str, ...] = ("Osier frame, OSIER",)) -> LabelFacts:
    message = label_message(CODE, is_unit=True, part="OSIER", copy=copy)
    return LabelFacts(message, CODE, lines, f"Tarnside Works, label {copy}", has_figure=True)


@pytest.mark.parametrize("dots", DENSITIES)
def test_the_symbol_is_read_back_byte_for_byte_as_the_printer_draws_it(dots):
    document = pypdfium2.PdfDocument(label_pdf(facts(), dots))
    picture = (
        document[0].render(scale=dots / 72, grayscale=True).to_pil().point(lambda light: 255 if light > 127 else 0)
    )
    (found,) = zxingcpp.read_barcodes(picture)
    document.close()
    assert (found.bytes, found.symbology_identifier) == (facts().message, "]d1")
    assert found.content_type == zxingcpp.ContentType.ISO15434


@pytest.mark.parametrize("dots", DENSITIES)
@pytest.mark.parametrize("count", [10, 24, 26, 36, 52])
def test_a_module_is_whole_dots_not_too_small_and_the_symbol_has_room(dots, count):
    module = module_of(dots, count)
    assert module * dots / 25.4 == pytest.approx(round(module * dots / 25.4))
    assert module >= LEAST_MODULE
    assert module * (count + 2) <= HEIGHT - 2


def test_a_label_has_its_exact_size_and_says_its_code_in_letters():
    content = label_pdf(facts(2), 300)
    (page,) = pypdf.PdfReader(io.BytesIO(content)).pages
    assert [float(side) * 25.4 / 72 for side in page.mediabox[2:]] == pytest.approx([WIDTH, HEIGHT], abs=0.01)
    words = words_of(content)
    assert CODE in words
    assert "label 2" in words
    assert label_pdf(facts(2), 300) == content != label_pdf(facts(1), 300)


def test_long_words_are_set_smaller_and_a_density_that_no_printer_has_is_refused():
    assert "Ž" * 60 in words_of(label_pdf(facts(lines=("Ž" * 60,)), 203))
    with pytest.raises(ValueError, match="must be one of"):
        label_pdf(facts(), 150)
