"""Shared causes against Fisher's own tables and a made-up field; tolerances stand beside each check."""

from fractions import Fraction
from math import comb

import pytest

from records.trace.suspects import chance_of_as_many, false_discovery, odds_ratio, rank_suspects, tied_first
from tests.records.spc.published import expected, rows

FACTORS = ("fibre_lot", "resin_batch", "cure_run")
FISHER = expected("07_fisher")


def field():
    """30 frames with the fibre lot, resin batch and cure run of each."""
    return {row["frame"]: {f"{factor} {row[factor]}" for factor in FACTORS} for row in rows("07_bad_frames_30")}


def bad(scenario):
    """Frames that failed in one of two scenarios."""
    return {row["frame"] for row in rows("07_bad_frames_30") if row[scenario] == "1"}


def test_the_lady_tasting_tea_could_have_guessed():
    """Fisher, as in Agresti 2002: 0.2429 for three of four cups."""
    told = FISHER["[[3,1],[1,3]] one-sided greater"]
    assert float(chance_of_as_many(3, 1, 1, 3)) == pytest.approx(told["value"], abs=told["tol"])


def test_convictions_of_twins_are_no_chance():
    """Fisher 1962: 2 of 17 dizygotic and 10 of 13 monozygotic twins convicted; the table is turned to ask for more."""
    told = FISHER["[[2,15],[10,3]] one-sided less"]
    assert float(chance_of_as_many(10, 2, 3, 15)) == pytest.approx(told["value"], abs=told["tol"])


def test_one_sided_less_is_the_other_trait_one_sided_more():
    told = FISHER["[[1,9],[11,3]] one-sided less"]
    assert float(chance_of_as_many(11, 1, 3, 9)) == pytest.approx(told["value"], abs=told["tol"])


@pytest.mark.parametrize("counts", [(10, 5, 0, 15), (2, 10, 15, 3)])
def test_odds_have_the_interval_with_a_half_added_to_each_cell(counts):
    bad_with, bad_without, good_with, good_without = counts
    told = FISHER[f"[[{bad_with},{good_with}],[{bad_without},{good_without}]] Haldane-Anscombe OR, 95% CI"]
    found = odds_ratio(*counts)
    assert (found.ratio, found.low, found.high) == pytest.approx(tuple(told["value"]), rel=1e-6, abs=5e-7)


@pytest.mark.parametrize("scenario", ["bad_a", "bad_b"])
def test_a_field_of_30_gives_the_counts_chances_and_odds_worked_out_apart(scenario):
    found = {suspect.trait: suspect for suspect in rank_suspects(field(), bad=bad(scenario))}
    told = [row for row in rows("07_bad_frames_30_expected") if row["scenario"] == scenario]
    assert len(found) == len(told)
    for row in told:
        suspect = found[f"{row['factor']} {row['level']}"]
        counts = tuple(int(row[key]) for key in ("bad_with", "bad_without", "good_with", "good_without"))
        assert suspect.counts == counts
        assert suspect.p == pytest.approx(float(row["p_one_sided_greater"]), abs=1e-8)
        assert suspect.adjusted == pytest.approx(float(row["bh_adjusted_p"]), abs=1e-8)
        assert suspect.odds.ratio == pytest.approx(float(row["or_ha"]), abs=1e-6)
        assert suspect.odds.low == pytest.approx(float(row["or_low95"]), abs=1e-6)
        assert suspect.odds.high == pytest.approx(float(row["or_high95"]), abs=1e-6)


def test_the_least_likely_comes_first():
    found = rank_suspects(field(), bad=bad("bad_b"))
    assert found[0].trait == "resin_batch R2"
    assert [suspect.chance for suspect in found] == sorted(suspect.chance for suspect in found)


def test_the_false_discovery_rate_of_15_chances_is_the_papers():
    """Benjamini and Hochberg 1995, section 3.2: four of fifteen stay below 0.05."""
    told = expected("07_bh_1995_15")
    found = false_discovery([Fraction(row["p"]) for row in rows("07_bh_1995_15")])
    assert found == pytest.approx(told["adjusted_p"]["value"], abs=1e-6)
    assert sum(p <= 0.05 for p in found) == told["rejected_q0.05"]["value"]


def test_equal_chances_are_tied_and_told_by_name():
    units = {"F1": {"SP-13", "FL-0881"}, "F2": {"FL-0881", "SP-13"}, "F3": {"SP-13", "FL-0881"}, "F4": {"M-01"}}
    found = rank_suspects(units, bad={"F1", "F2", "F3"})
    assert [s.trait for s in tied_first(found)] == ["FL-0881", "SP-13"]
    assert (found[0].p, found[0].counts) == (0.25, (3, 0, 0, 1))


def test_nearly_equal_chances_are_no_tie():
    units = {n: {"all"} if n else {"all", "one"} for n in range(1000)}
    assert [s.trait for s in tied_first(rank_suspects(units, bad={0}))] == ["one"]


def test_a_trait_of_all_units_tells_nothing():
    found = rank_suspects({n: {"all"} for n in range(6)}, bad={0, 1})
    assert (found[0].p, found[0].counts) == (1.0, (2, 0, 4, 0))


@pytest.mark.parametrize("units", [{}, {"F1": set()}])
def test_a_field_without_traits_has_no_suspect(units):
    found = rank_suspects(units, bad=set())
    assert (found, tied_first(found)) == ((), ())


def test_a_bad_unit_outside_the_field_is_a_wrong_call():
    with pytest.raises(ValueError, match="F9"):
        rank_suspects({"F1": {"R1"}}, bad={"F9"})


def test_the_chance_sums_the_plain_hypergeometric_terms():
    ways = sum(comb(12, k) * comb(28, 9 - k) for k in range(5, 10))
    assert float(chance_of_as_many(5, 7, 4, 24)) == pytest.approx(ways / comb(40, 9), rel=1e-12)


def test_a_field_of_a_years_frames_is_answered_exactly():
    """Chances far below what a float of sums would keep; the order of two such traits must stand."""
    units = {n: {"mould" if n < 2000 else "other", "lot" if n < 2001 else "rest"} for n in range(20_000)}
    found = rank_suspects(units, bad=set(range(500)))
    assert [s.trait for s in found[:2]] == ["mould", "lot"]


def test_counts_below_zero_are_a_wrong_call():
    with pytest.raises(ValueError, match="0 or more"):
        chance_of_as_many(-1, 2, 3, 4)
