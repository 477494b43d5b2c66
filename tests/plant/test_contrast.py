"""Colours of the three lights against what lies behind them, by the contrast formula of WCAG 2.2 (from memory).

Text stands at 4.5:1 or more (success criterion 1.4.3), marks and edges of controls at 3:1 (1.4.11).
"""

import re

import pytest

from tests import sources

CSS = (sources.BASE / "plant" / "static" / "plant" / "tokens.css").read_text()
GROUNDS = ("paper", "surface", "sunk")
WORDS = ("ink", "ink-2", "link", "good", "watch", "bad", "ask", "run", "calm")
MARKS = ("edge", "focus", "band-edge", "limit", "d-1", "d-2", "d-3", "d-4")
# Series are named at their line's end, a limit beside its rule: on a sheet or on a band.
NAMES = ("d-1", "d-2", "d-3", "d-4", "limit")
STATES = ("good", "watch", "bad", "ask", "run", "calm")


def colours(light: str) -> dict[str, str]:
    """Colours of a light: those of paper, and what the light changes."""
    blocks = {"paper": re.search(r":root \{(.*?)\n\}", CSS, re.S)[1]}
    if light != "paper":
        blocks[light] = re.search(rf':root\[data-light="{light}"\] \{{(.*?)\n\}}', CSS, re.S)[1]
    return {name: value for block in blocks.values() for name, value in re.findall(r"--([\w-]+): (#\w{6})", block)}


def luminance(colour: str) -> float:
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_its_known_ends():
    """Black on white is 21:1, a colour on itself 1:1 (WCAG 2.2, definition of contrast ratio)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#23408F", "#23408F") == pytest.approx(1)


@pytest.mark.parametrize("light", ["paper", "dark", "glare"])
def test_words_and_marks_can_be_told_from_what_lies_behind_them(light):
    of = colours(light)
    asked = [(word, ground, 4.5) for word in WORDS for ground in GROUNDS]
    asked += [(mark, ground, 3.0) for mark in MARKS for ground in GROUNDS[:2]]
    asked += [(mark, "sunk", 3.0) for mark in ("edge", "focus")]
    asked += [(state, f"{state}-t", 4.5) for state in STATES] + [("on-state", state, 4.5) for state in STATES]
    asked += [(word, f"{state}-t", 4.5) for word in ("ink", "ink-2", "link") for state in STATES]
    asked += [(name, ground, 4.5) for name in NAMES for ground in (*GROUNDS[:2], "band")]
    asked += [(word, "band", 4.5) for word in ("ink", "ink-2", *STATES)] + [("band-edge", "band", 3.0)]
    asked += [("on-ink", "ink", 4.5), ("on-top", "top", 4.5), ("on-top", "top-2", 4.5), ("top-soft", "top-2", 4.5)]
    asked += [("on-stop", "stop", 4.5), ("top-edge", "top", 3.0)]
    assert [
        (one, other, round(contrast(of[one], of[other]), 2))
        for one, other, least in asked
        if contrast(of[one], of[other]) < least
    ] == []
