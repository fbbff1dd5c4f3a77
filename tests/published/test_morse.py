"""Morse code: Recommendation ITU-R M.1677-1 (10/2009), part I.

Signs: the recommendation's table, held as well against the package MorseCodePy 4.2.1 from PyPI for
letters and figures, whose table was made by others. Spacing and speed: sections 2 and 3; PARIS with
its space is 50 dots (common practice, and their sum).
"""

from __future__ import annotations

import string

import MorseCodePy
import pytest

from gen.plan import TICK_MS
from gen.rhythms import morse, read_rhythm
from gen.units import Wrong


def test_letters_and_figures_are_those_of_a_table_made_by_others() -> None:
    for sign in string.ascii_uppercase + string.digits:
        # An E behind each sign: the package stumbles over a C at the end of a text.
        assert MorseCodePy.encode(f"{sign}E", "english").split() == [morse.CODE[sign], "."]


def test_the_table_has_the_signs_of_the_recommendation_and_no_others() -> None:
    assert set(morse.CODE) == set(string.ascii_uppercase + string.digits + "É.,:?'-/()\"=+\u00d7@")
    assert not set("!&;_$") & set(morse.CODE)


@pytest.mark.parametrize(
    ("sign", "signals"),
    [
        (".", ".-.-.-"),
        (",", "--..--"),
        ("?", "..--.."),
        ("/", "-..-."),
        ("=", "-...-"),
        ("@", ".--.-."),
    ],
)
def test_punctuation(sign: str, signals: str) -> None:
    assert morse.CODE[sign] == signals


def test_spacing() -> None:
    """A dash is three dots; one between signals, three between letters, seven between words."""
    assert morse.units("A") == [(True, 1), (False, 1), (True, 3)]
    assert morse.units("EE") == [(True, 1), (False, 3), (True, 1)]
    assert morse.units("E E") == [(True, 1), (False, 7), (True, 1)]


def test_paris_is_50_dots_and_codex_60() -> None:
    for word, dots in (("PARIS", 50), ("CODEX", 60), ("SOS", 34)):
        assert sum(count for _, count in morse.units(word)) + morse.WORD_SPACE == dots


@pytest.mark.parametrize(("speed_wpm", "minute_of"), [(5, 5), (12, 12), (20, 20)])
def test_speed_is_in_words_a_minute(speed_wpm: int, minute_of: int) -> None:
    """So many times PARIS take a minute, to the tick."""
    whole = sum(read_rhythm(f"morse PARIS at {speed_wpm} wpm").phases_ticks)
    assert whole * minute_of * TICK_MS == 60_000


def test_a_dot_lasts_1200_ms_by_the_speed() -> None:
    for speed_wpm, dot_ms in ((5, 240), (12, 100), (20, 60)):
        assert read_rhythm(f"morse E at {speed_wpm} wpm").phases_ticks[0] * TICK_MS == dot_ms


def test_a_speed_that_is_no_whole_number_of_ticks_does_not_drift() -> None:
    """At 13 wpm a dot is 92.31 ms; 13 times PARIS are still a minute to within a tick each."""
    whole = sum(read_rhythm("morse PARIS at 13 wpm").phases_ticks)
    assert abs(whole * 13 * TICK_MS - 60_000) <= 13 * TICK_MS


@pytest.mark.parametrize(
    "text", ["morse Ä at 12 wpm", "morse SOS", "morse at 5 wpm", "morse A at fast"]
)
def test_what_is_no_morse(text: str) -> None:
    with pytest.raises(Wrong) as refused:
        read_rhythm(text)
    assert refused.value.code == "unknown-rhythm"


@pytest.mark.parametrize("speed_wpm", [0, 41])
def test_speeds_out_of_reach(speed_wpm: int) -> None:
    with pytest.raises(Wrong, match="is sent at"):
        read_rhythm(f"morse SOS at {speed_wpm} wpm")
