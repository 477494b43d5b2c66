"""Papers read back as a person or a scanner would: their words by page, and the symbols on a page that was drawn."""

import io

import pypdf
import pypdfium2
import zxingcpp

from plant.papers.page import Heading, Made, make
from plant.papers.pieces import Lacking, Paper

HEADING = Heading(
    "Tarnside Works", "A trial", "As known up to entry 7.", "Sealed: tree of 7 entries.", "Prove nothing."
)


def made_of(*says, heading: Heading = HEADING) -> Made:
    """A paper of pieces, each made by a function of the paper."""
    paper = Paper()
    return make(heading, [*(say(paper) for say in says), Lacking(paper)], paper.letters)


def pages_of(content: bytes) -> list[str]:
    """The words of each page, read back from the file."""
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


def words_of(content: bytes) -> str:
    """All words with single blanks between them, the edges of the pages among them."""
    return " ".join(" ".join(pages_of(content)).split())


def symbols_on(content: bytes, page: int = 0, dots_an_inch: int = 150) -> list[str]:
    """What a decoder reads on a page that was drawn."""
    document = pypdfium2.PdfDocument(content)
    try:
        picture = document[page].render(scale=dots_an_inch / 72).to_pil()
    finally:
        document.close()
    return [found.text for found in zxingcpp.read_barcodes(picture)]
