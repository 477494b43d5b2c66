"""Papers as such: every letter comes out and is read back, nothing is cut, the same facts make the same bytes."""

import math
import unicodedata
from itertools import chain

import pytest

from plant.papers import page
from plant.papers.lettering import LINE_ENDS, Lettering
from plant.papers.pen import _arc
from plant.papers.pieces import Paper, symbol_picture
from plant.papers.rows import Column, Row
from plant.pictures.shapes import shape
from plant.pictures.states import STATES
from tests.papers import HEADING, made_of, pages_of, symbols_on, words_of

# The alphabets of Europe by block of the Unicode Character Database, as Python's unicodedata has it.
BLOCKS = {
    "Latin-1": (0xC0, 0xFF),
    "Latin Extended-A": (0x100, 0x17F),
    "Romanian, Skolt Sami and Livonian in Extended-B": (0x1E4, 0x21B),
    "Greek": (0x386, 0x3CE),
    "Cyrillic": (0x400, 0x45F),
    "Ukrainian, Chuvash, Tatar and Bashkir in Cyrillic": (0x490, 0x4E9),
    "Armenian capitals": (0x531, 0x556),
    "Armenian small letters": (0x561, 0x586),
    "Georgian": (0x10D0, 0x10FA),
    "Welsh and Irish in Extended Additional": (0x1E02, 0x1EF3),
}


def letters(first: int, last: int) -> str:
    signs = map(chr, range(first, last + 1))
    return "".join(sign for sign in signs if unicodedata.category(sign) in ("Lu", "Ll"))


def remark(count: int) -> str:
    return " ".join(f"w{n}" for n in range(1, count + 1))


@pytest.mark.parametrize("style", [page.BODY, page.STRONG_BODY, page.CODE], ids=lambda style: style.name)
def test_every_letter_of_europe_is_printed_and_read_back(style):
    asked = [letters(*block) for block in BLOCKS.values()]
    made = made_of(*(lambda paper, text=text: paper.words(text, style) for text in asked))
    read = "".join(words_of(made.content).split())
    assert [sign for sign in chain(*asked) if sign not in read] == []
    assert made.lacking == ()


def test_accents_written_apart_come_out_as_one_letter():
    made = made_of(lambda paper: paper.words(unicodedata.normalize("NFD", "Žluťoučký kůň, Šírka, tűrés")))
    assert "Žluťoučký kůň, Šírka, tűrés" in words_of(made.content)


def test_what_no_letter_is_there_for_is_named_where_it_stands_and_at_the_end():
    made = made_of(lambda paper: paper.words("seen by 漢 \U0001f642 at \x07 and שלום, all the same"))
    read = words_of(made.content)
    assert "seen by [U+6F22] [U+1F642] at [U+0007] and [U+05E9][U+05DC][U+05D5][U+05DD], all the same" in read
    assert "U+6F22 CJK UNIFIED IDEOGRAPH-6F22" in read
    assert "U+0007 without a name" in made.lacking


def test_a_works_whose_name_is_greek_has_it_on_every_page():
    heading = page.Heading("Εργαστήρι Ταρν", "Φάκελος", "Ως 7", "Ρίζα 9f", "Προσοχή", True)
    made = made_of(lambda paper: paper.words(remark(6000)), heading=heading)
    assert made.pages > 1
    assert all("Εργαστήρι Ταρν" in words for words in pages_of(made.content))


def test_mark_up_in_words_is_words():
    made = made_of(lambda paper: paper.words('3 < 5 & <b>bold</b> <font size="40"> &amp; “ok”\nnext line'))
    assert '3 < 5 & <b>bold</b> <font size="40"> &amp; “ok” next line' in words_of(made.content)


@pytest.mark.parametrize(
    "place",
    [
        lambda paper: paper.words(remark(6000)),
        lambda paper: paper.note(paper.words(remark(6000))),
        lambda paper: paper.table(
            [Column("A", 1), Column("B", 3)], [Row([[paper.code("x")], [paper.words(remark(6000))]])]
        ),
        lambda paper: paper.table([Column("A", 1)], [Row([[paper.code("x")]], [paper.words(remark(6000))])]),
    ],
    ids=["alone", "in a note", "in a cell", "below a row"],
)
def test_a_remark_of_6000_words_comes_out_whole_and_in_order(place):
    made = made_of(place)
    read = [word for word in words_of(made.content).split() if word[0] == "w" and word[1:].isdigit()]
    assert read == remark(6000).split()


def test_a_word_wider_than_the_page_is_broken_not_cut():
    made = made_of(lambda paper: paper.words("x" * 3000))
    assert "".join(words_of(made.content).split()).count("x") == 3000


def test_each_page_says_which_of_how_many_and_repeats_heads():
    rows = [f"TW-{n}" for n in range(400)]

    def table(paper: Paper):
        head = [Column("Code", 1), Column("Part", 2)]
        return paper.table(head, [Row([[paper.code(code)], [paper.words("OSIER")]]) for code in rows])

    made = made_of(table)
    told = pages_of(made.content)
    assert len(told) == made.pages > 5
    for number, words in enumerate(told, start=1):
        assert f"Page {number} of {made.pages}" in words
        for edge in (HEADING.works, HEADING.what, HEADING.known, HEADING.rests_on, HEADING.caution):
            assert edge in words
    assert all("Code" in words for words in told[:-1])
    read = [word for word in words_of(made.content).split() if word.startswith("TW-")]
    assert read == rows


def test_the_same_facts_make_the_same_bytes_and_others_make_others():
    def told(text: str) -> bytes:
        return made_of(lambda paper: paper.words(text), lambda _: symbol_picture("TW-26-000396-8", 60)).content

    assert told("within") == told("within")
    assert told("within") != told("without")


@pytest.mark.parametrize("code", ["TW-26-000396-8", "X1", "FB/7-LÖT 12", "A" * 40])
def test_a_decoder_reads_the_symbol_of_a_drawn_page(code):
    made = made_of(lambda _: symbol_picture(code, 60))
    assert symbols_on(made.content) == [code]


def test_every_state_has_a_shape_and_a_word_on_paper():
    made = made_of(*(lambda paper, state=state: paper.state(state) for state in STATES))
    read = words_of(made.content)
    for name, _, word in STATES.values():
        assert shape(name)
        assert word in read


@pytest.mark.parametrize("is_large", [True, False])
@pytest.mark.parametrize("is_clockwise", [True, False])
def test_an_arc_keeps_its_distance_from_its_middle_and_ends_where_it_should(is_large, is_clockwise):
    # SVG 1.1 appendix F.6.5: of the two circles of radius 5 through the points, the flags choose the middle.
    middle = (3.0, -4.0) if is_large == is_clockwise else (3.0, 4.0)
    start, pieces = (0.0, 0.0), list(_arc((0.0, 0.0), 5.0, is_large, is_clockwise, (6.0, 0.0)))
    assert [round(value, 6) for value in pieces[-1][4:]] == [6.0, 0.0]
    for piece in pieces:
        near, far, stop = piece[:2], piece[2:4], piece[4:]
        half = [(a + 3 * b + 3 * c + d) / 8 for a, b, c, d in zip(start, near, far, stop, strict=True)]
        assert math.dist(stop, middle) == pytest.approx(5)
        assert math.dist(half, middle) == pytest.approx(5, rel=1e-3)
        start = stop


def test_line_ends_of_every_system_are_line_ends():
    assert LINE_ENDS.split("a\r\nb\rc\nd\u2028e") == ["a", "b", "c", "d", "e"]
    assert Lettering().marked("a\nb") == "a<br/>b"
