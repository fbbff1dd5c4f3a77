"""Sound and light signals: International Regulations for Preventing Collisions at Sea, 1972.

Rule 21 (flashing light), Rule 32 (blasts), Rule 34 (manoeuvring and warning), Rule 35 (restricted
visibility).
"""

from __future__ import annotations

import pytest

from gen.plan import TICK_MS
from gen.rhythms import Pattern, read_rhythm
from gen.rhythms.sounds import SIGNALS
from gen.units import Wrong

SHORT_S = (1, 1)
PROLONGED_S = (4, 6)


def seconds(pattern: Pattern) -> list[float]:
    return [ticks * TICK_MS / 1000 for ticks in pattern.phases_ticks]


def blasts(pattern: Pattern) -> str:
    """S for a short blast, P for a prolonged one, by Rule 32."""
    return "".join(
        "P" if PROLONGED_S[0] <= length <= PROLONGED_S[1] else "S"
        for length in seconds(pattern)[::2]
        if PROLONGED_S[0] <= length <= PROLONGED_S[1] or length == SHORT_S[0]
    )


def test_rule_21_a_flashing_light_has_at_least_120_flashes_a_minute() -> None:
    """Of the quick lights, VQ and UQ may serve as one."""
    for character in ("VQ", "UQ"):
        assert 60 / sum(seconds(read_rhythm(character))) >= 120


@pytest.mark.parametrize(
    ("written", "heard"),
    [
        ("blasts short", "S"),  # 34 (a): altering to starboard
        ("blasts short short", "SS"),  # to port
        ("blasts short short short", "SSS"),  # operating astern
        ("blasts prolonged prolonged short", "PPS"),  # 34 (c): overtaking
        ("blasts prolonged prolonged short short", "PPSS"),
        ("blasts prolonged short prolonged short", "PSPS"),  # agreement
        ("blasts prolonged", "P"),  # 34 (e): nearing a bend
    ],
)
def test_rule_34_signals_sound_once(written: str, heard: str) -> None:
    pattern = read_rhythm(written)
    assert blasts(pattern) == heard
    assert pattern.begins_on
    assert not pattern.repeats


def test_rule_34_d_doubt_is_at_least_five_short_and_rapid_blasts() -> None:
    pattern = read_rhythm("blasts doubt")
    assert len(pattern.phases_ticks[::2]) >= 5
    assert max(seconds(pattern)) < SHORT_S[0]


def test_rule_34_b_a_light_flashes_for_about_1_s_with_1_s_between_and_10_s_behind() -> None:
    pattern = read_rhythm("on 1 s, off 1 s, on 1 s, off 10 s")
    assert seconds(pattern) == [1, 1, 1, 10]


@pytest.mark.parametrize(
    ("name", "heard", "longest_s"),
    [
        ("making way", "P", 120),
        ("stopped", "PP", 120),
        ("restricted", "PSS", 120),
        ("towed", "PSSS", 120),
        ("pilot", "SSSS", 120),
        ("anchored whistle", "SPS", 60),
    ],
)
def test_rule_35_signals_and_their_intervals(name: str, heard: str, longest_s: int) -> None:
    pattern = read_rhythm(f"fog signal {name}")
    assert blasts(pattern) == heard
    assert sum(seconds(pattern)) <= longest_s
    assert pattern.repeats
    with pytest.raises(Wrong, match="every"):
        read_rhythm(f"fog signal {name} every {longest_s + 1} s")
    assert sum(seconds(read_rhythm(f"fog signal {name} every 50 s"))) == 50


def test_rule_35_b_two_prolonged_blasts_are_about_2_s_apart() -> None:
    assert seconds(read_rhythm("fog signal stopped"))[1] == 2


def test_rule_35_g_and_h_the_bell_rings_5_s_each_minute() -> None:
    """Aground: three strokes before and after the ringing."""
    assert seconds(read_rhythm("fog signal anchored")) == [5, 55]
    aground = seconds(read_rhythm("fog signal aground"))
    assert [length == 5 for length in aground[::2]] == [False] * 3 + [True] + [False] * 3
    assert sum(aground) <= 60


def test_every_signal_of_rule_35_can_be_named() -> None:
    assert all(read_rhythm(f"fog signal {name}").repeats for name in SIGNALS)
