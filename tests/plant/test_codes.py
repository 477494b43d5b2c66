"""Codes of the house: making, typing in, check digits."""

from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from plant.codes import KINDS, alike, check_digit, fold, house_code, read_typed
from records.ledger.refusals import Refused

DIGIT = st.sampled_from("0123456789")
CODES = st.builds(house_code, st.sampled_from(sorted(KINDS)), st.integers(2000, 2099), st.integers(1, 999_999))


def test_the_check_digit_of_the_standards_example():
    """ISO/IEC 7064 MOD 11,10: 0794 has check digit 5 (the standard's example, from memory)."""
    assert check_digit("0794") == "5"


@pytest.mark.parametrize(
    ("kind", "number", "code"),
    [("TW", 396, "TW-26-000396-8"), ("TW", 4217, "TW-26-004217-4"), ("PT", 1, "PT-26-000001-5")],
)
def test_codes_are_made_as_in_the_worked_examples(kind, number, code):
    """Worked by another program before this one was written."""
    assert house_code(kind, 2026, number) == code


def test_prefixes_hold_no_letter_that_is_taken_for_a_digit():
    assert len(KINDS) == 35
    assert all(len(kind) == 2 and kind.isascii() and kind.isupper() for kind in KINDS)
    assert not {"O", "I"} & set("".join(KINDS))
    assert len(set(KINDS.values())) == len(KINDS)


@pytest.mark.parametrize(("kind", "number"), [("XX", 1), ("TW", 0), ("TW", 1_000_000), ("TW", -1)])
def test_no_code_is_made_that_could_not_be_read_again(kind, number):
    with pytest.raises(ValueError, match="must"):
        house_code(kind, 2026, number)


@given(st.lists(DIGIT, min_size=8, max_size=8), st.integers(0, 8), DIGIT)
def test_any_single_wrong_digit_is_found(body, place, wrong):
    whole = [*body, check_digit("".join(body))]
    assume(whole[place] != wrong)
    whole[place] = wrong
    assert check_digit("".join(whole[:8])) != whole[8]


def next_state(state: int, digit: int) -> int:
    """The recursion of ISO/IEC 7064 MOD 11,10, written down a second time."""
    return 2 * ((state + digit) % 10 or 10) % 11


def test_of_ninety_swaps_of_two_neighbours_two_are_missed_in_each_place():
    """From any state on the rest of the code keeps two states apart, so it is enough to look at one place."""
    for state in range(1, 11):
        assert len({next_state(state, digit) for digit in range(10)}) == 10
        missed = [
            (a, b)
            for a, b in product(range(10), repeat=2)
            if a != b and next_state(next_state(state, a), b) == next_state(next_state(state, b), a)
        ]
        assert len(missed) == 2


@given(CODES)
def test_a_code_is_read_as_it_was_made(code):
    assert read_typed(code) == code


@given(CODES, st.integers(1, 999_999))
def test_dashes_case_blanks_and_leading_zeros_do_not_count(code, number):
    kind, year, digits, check = code.split("-")
    assert read_typed(f"  {kind.lower()}{year}{digits}{check} ") == code
    assert read_typed(f"{kind}-{year}-{int(digits)}-{check}") == code


@pytest.mark.parametrize("typed", ["tw-26-396-8", "TW263968", " TW-26-000396-8\n", "TW26-0003968"])
def test_a_frame_code_is_found_however_it_is_typed(typed):
    assert read_typed(typed) == "TW-26-000396-8"


@pytest.mark.parametrize("typed", ["TW-26-000396-7", "TW-26-000369-8", "TW-27-000396-8"])
def test_a_check_digit_that_does_not_fit_is_refused_with_what_to_do(typed):
    with pytest.raises(Refused) as refused:
        read_typed(typed)
    assert refused.value.code == "check-digit"
    assert str(refused.value) == f"No such code: {typed}. The check digit does not fit. Look again, or type it."


@pytest.mark.parametrize("lot", ["fl-0890", "000417", "12E4", "1E1000", "NA", "null", "XQ-26-000396-7"])
def test_a_code_from_outside_has_no_form_and_is_kept_as_it_comes(lot):
    assert read_typed(lot) == fold(lot) == lot.upper()


def test_a_wrong_kind_is_not_found_by_the_check_digit():
    """It is checked against what is asked."""
    assert read_typed("PT-26-000396-8") == "PT-26-000396-8"


@pytest.mark.parametrize(
    ("one", "other"), [("FL-O890", "fl-0890"), ("LOT I1", "L0T-11"), ("S5B8Z2", "55882Z"), ("QO", "00")]
)
def test_codes_that_look_alike_are_alike(one, other):
    assert alike(one) == alike(other)


def test_codes_that_do_not_look_alike_are_not_alike():
    assert alike("FL-0890") != alike("FL-0891")
