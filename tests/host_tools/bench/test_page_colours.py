"""The page's colours, reckoned from its style sheets.

WCAG 2.2 (W3C Recommendation, 5 October 2023): 1.4.3 asks 4.5 to 1 of words, 1.4.11 asks 3 to 1 of
what shows a control or a state; "relative luminance" and "contrast ratio" as section 6 has them.
"""

from __future__ import annotations

import re

import pytest

from tests.host_tools.bench.feed import FILES

WORDS = 4.5
SHAPES = 3.0

ON_SHEETS = ("paper", "sheet")
CAUTIONS = ("caution", "caution-ink"), ("wrong", "wrong-ink")

PAIRS = [
    *(("ink", sheet, WORDS) for sheet in (*ON_SHEETS, "band")),
    *(("quiet", sheet, WORDS) for sheet in (*ON_SHEETS, "band")),
    *((ink, back, WORDS) for back, ink in CAUTIONS),
    ("on-ink", "on", WORDS),  # a pressed button
    ("caution", "caution-ink", WORDS),  # a held one, the other way round
    *(("edge", sheet, SHAPES) for sheet in ON_SHEETS),
    *(("on", sheet, SHAPES) for sheet in (*ON_SHEETS, "band")),
    *(("move", sheet, SHAPES) for sheet in ON_SHEETS),
    *(("needle", sheet, SHAPES) for sheet in (*ON_SHEETS, "band")),
    *(("focus", sheet, SHAPES) for sheet in ON_SHEETS),
    *(("rail", sheet, SHAPES) for sheet in ON_SHEETS),
    ("wrong-edge", "sheet", SHAPES),
    ("caution-edge", "sheet", SHAPES),
]

COLOUR = re.compile(r"--([\w-]+):\s*(#[0-9a-f]{6})\b")


def _themes() -> dict[str, dict[str, str]]:
    text = (FILES / "colours.css").read_text(encoding="utf-8")
    blocks = [dict(COLOUR.findall(block)) for block in text.split("}")]
    day, dark, night, *_ = [block for block in blocks if block]
    return {"day": day, "as the computer, dark": dark, "night": night}


def _luminance(colour: str) -> float:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = [
        one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4
        for one in (red, green, blue)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_reckoned_as_the_recommendation_says() -> None:
    assert _contrast("#ffffff", "#000000") == pytest.approx(21)
    # The grey that just passes on white, known from every list of such pairs (from memory).
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("theme", _themes())
def test_every_pair_of_colours_can_be_told_apart(theme: str) -> None:
    colours = _themes()[theme]
    short = {
        (one, other): round(found, 2)
        for one, other, least in PAIRS
        if (found := _contrast(colours[one], colours[other])) < least
    }
    assert short == {}


def test_both_themes_have_every_colour() -> None:
    day, dark, night = _themes().values()
    assert day.keys() == night.keys()
    assert dark == night


def test_colours_are_written_in_one_file_only() -> None:
    """So that what is reckoned here is what is seen."""
    literal = re.compile(r"#[0-9a-f]{3,8}\b|\brgba?\(|\bhsla?\(", re.IGNORECASE)
    for file in [*FILES.glob("*.css"), *FILES.glob("*.js"), *FILES.glob("*.html")]:
        if file.name == "colours.css":
            continue
        text = re.sub(r'href="#[^"]*"', "", file.read_text(encoding="utf-8"))
        assert literal.findall(text) == [], file.name


def test_every_colour_that_is_used_is_there() -> None:
    named = set(_themes()["day"])
    lengths = {"share", "deep"}
    for file in FILES.glob("*.css"):
        used = set(re.findall(r"var\(--([\w-]+)", file.read_text(encoding="utf-8")))
        assert used - lengths <= named, file.name
