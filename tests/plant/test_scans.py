"""What scanners send, brought to one code. The sample symbols are our own, made and read back with another library."""

import json
from pathlib import Path

import pytest

from plant.scans import EOT, GS, HEADER, RS, label_message, layout_hint, read_scan
from records.ledger.refusals import Refused

SAMPLES = Path(__file__).parent.parent / "reference" / "identification"


def samples() -> list[dict]:
    return json.loads((SAMPLES / "expected.json").read_text())["symbols"]


@pytest.mark.parametrize("symbol", samples(), ids=lambda symbol: symbol["file"])
def test_each_sample_symbol_names_what_stands_in_it(symbol):
    said = symbol["symbology_identifier"] + symbol["text"]
    if "short-own-link" in symbol["file"]:
        with pytest.raises(Refused, match="names nothing of the house"):
            read_scan(said)
    else:
        expected = {"frame": "F000123", "resin": "RB260917A", "fibre": "CF-7731"}
        assert read_scan(said).code == next(code for word, code in expected.items() if word in symbol["file"])


@pytest.mark.parametrize("code", ["TW-26-000396-8", "PT-26-000371-0", "LOT/7"])
@pytest.mark.parametrize("is_unit", [True, False])
def test_a_label_of_the_house_is_read_back_with_its_number(code, is_unit):
    message = label_message(code, is_unit=is_unit, part="RMX", copy=12, good_until="20261028").decode()
    assert (read_scan(message).code, read_scan(message).copy) == (code, 12)


def test_a_code_that_such_a_message_cannot_hold_stands_alone():
    assert label_message("RÉS-7", is_unit=False, part="RMX", copy=1) == "RÉS-7"


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("[)>061TRB260917A16D20260917", "separators of this label were lost"),
        (f"{HEADER}SA{GS}SB{RS}{EOT}", None),
        (f"{HEADER}SA{GS}1TB{RS}{EOT}", "names no thing for certain"),
        (f"{HEADER}1PRMX{RS}{EOT}", "names no thing for certain"),
        (f"{HEADER}{GS}{RS}{EOT}", "can't be read"),
        ("(01)09521234544043", "names no serial and no lot"),
        ("(01)09521234544044(21)TW-1", "check digit of this symbol does not fit"),
        ("]d20109521", "can't be read"),
        ("https://tarnside.example/about", "names nothing of the house"),
        ("X" * 500, "longer than any label"),
    ],
)
def test_what_cannot_be_read_for_certain_is_refused_and_shown(said, told):
    if told is None:
        assert read_scan(said).code == "A"
    else:
        with pytest.raises(Refused, match=told):
            read_scan(said)


def test_a_lot_run_together_with_the_next_field_is_not_taken_apart():
    """A separator lost on the way: the lot may be BTCH003 or the whole. It stays whole, and is then not on file."""
    assert read_scan("10BTCH0033740").code == "10BTCH0033740"
    assert read_scan(f"010952123454404310BTCH003{GS}3740").code == "BTCH003"


def test_a_wrong_keyboard_layout_is_told_and_nothing_is_put_right():
    assert read_scan("FRZß0417").code != "FRY-0417"
    assert "layout looks wrong" in layout_hint("FRZß0417")
