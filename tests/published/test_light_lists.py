"""Characters of lights: IHO INT 1, section P 10, and IALA R0110.

Worked timings: INT M-12, page A-9 (Oc, Oc(2), Oc(2+1), Iso), quoted there in full. Times in the
notation of IHO S-57, attribute SIGSEQ, with its own example; groups of cardinal marks: IALA
Maritime Buoyage System. What each class is: IHO INT 1; the ranges of Q, VQ and UQ: the same.
"""

from __future__ import annotations

import itertools

import pytest

from gen.plan import TICK_MS
from gen.rhythms import Pattern, read_rhythm
from gen.units import Wrong


def seconds(pattern: Pattern) -> list[float]:
    return [ticks * TICK_MS / 1000 for ticks in pattern.phases_ticks]


def lit_ticks(pattern: Pattern) -> int:
    return sum(pattern.phases_ticks[0 if pattern.begins_on else 1 :: 2])


def turns(pattern: Pattern) -> list[int]:
    """From each flash to the next, in ticks."""
    on, off = pattern.phases_ticks[::2], pattern.phases_ticks[1::2]
    return [light + dark for light, dark in zip(on, off, strict=True)]


@pytest.mark.parametrize(
    ("character", "times"),
    [
        ("Oc 12s", [2, 10]),
        ("Oc(2) 13s", [1, 1, 1, 10]),
        ("Oc(2+1) 12s", [1, 1, 1, 4, 1, 4]),
    ],
)
def test_worked_timings_of_occulting_lights_begin_with_the_eclipse(
    character: str, times: list[float]
) -> None:
    pattern = read_rhythm(character)
    assert not pattern.begins_on
    assert seconds(pattern) == times


def test_worked_timing_of_an_isophase_light() -> None:
    assert seconds(read_rhythm("Iso 10s")) == [5, 5]


def test_the_notation_of_electronic_charts() -> None:
    flashing = read_rhythm("00.8+(02.2)+00.8+(05.2)")
    assert (flashing.begins_on, seconds(flashing)) == (True, [0.8, 2.2, 0.8, 5.2])
    occulting = read_rhythm("(00.8)+02.2+(00.8)+05.2")
    assert (occulting.begins_on, seconds(occulting)) == (False, [0.8, 2.2, 0.8, 5.2])


@pytest.mark.parametrize(
    ("character", "flashes", "period_s"),
    [
        ("Q", 1, 1),
        ("VQ", 1, 0.5),
        ("VQ(3) 5s", 3, 5),
        ("Q(3) 10s", 3, 10),
        ("VQ(6)+LFl 10s", 7, 10),
        ("Q(6)+LFl 15s", 7, 15),
        ("VQ(9) 10s", 9, 10),
        ("Q(9) 15s", 9, 15),
        ("Fl(2) 10s", 2, 10),
        ("LFl 10s", 1, 10),
    ],
)
def test_marks_of_the_buoyage_system(character: str, flashes: int, period_s: float) -> None:
    pattern = read_rhythm(character)
    assert len(pattern.phases_ticks) == 2 * flashes
    assert sum(seconds(pattern)) == period_s


EVERY = [
    *(f"{kind} {period}s" for kind in ("Iso", "Oc", "Fl", "LFl") for period in (5, 8, 10, 15)),
    *(
        f"{kind}({group}) {period}s"
        for kind in ("Oc", "Fl")
        for group in (2, 3)
        for period in (8, 15)
    ),
    *(f"Fl({group}) 15s" for group in ("2+1", "3+1", "4")),
    *(f"{kind}{group}" for kind in ("Q", "VQ", "UQ") for group in ("", "(3) 10s", "(5) 12s")),
]


@pytest.mark.parametrize("character", EVERY)
def test_light_against_dark(character: str) -> None:
    pattern = read_rhythm(character)
    lit, whole = lit_ticks(pattern), sum(pattern.phases_ticks)
    if character.startswith("Iso"):
        assert lit == whole - lit
    elif character.startswith("Oc"):
        assert lit > whole - lit
        assert len(set(pattern.phases_ticks[::2])) == 1  # equal eclipses
    else:
        assert lit < whole - lit
        assert len(set(pattern.phases_ticks[::2])) == 1  # equal flashes


@pytest.mark.parametrize(
    ("kind", "fewest", "most"), [("Q", 50, 79), ("VQ", 80, 159), ("UQ", 160, 300)]
)
def test_rates_of_quick_lights(kind: str, fewest: int, most: int) -> None:
    per_minute = 60_000 // TICK_MS
    for character in (kind, f"{kind}(3) 10s"):
        turn = min(turns(read_rhythm(character)))
        assert fewest <= per_minute / turn <= most
    for inside in (fewest, most):
        if per_minute % inside == 0:
            read_rhythm(f"{kind} {60 / inside:.6f}s")
    for outside in (fewest - 1, most + 1):
        with pytest.raises(Wrong, match="flashes a minute"):
            read_rhythm(f"{kind} {60 / outside:.6f}s")


@pytest.mark.parametrize("character", [c for c in EVERY if c.startswith("Fl")])
def test_a_flashing_light_shows_fewer_than_50_flashes_a_minute(character: str) -> None:
    assert min(turns(read_rhythm(character))) * 50 > 60_000 // TICK_MS


def test_a_long_flash_lasts_at_least_2_s() -> None:
    for character in ("LFl 10s", "VQ(6)+LFl 10s", "Q(6)+LFl 15s"):
        assert max(seconds(read_rhythm(character))[::2]) >= 2


@pytest.mark.parametrize("sign", "AKNUXD")
def test_a_short_flash_of_a_morse_light_is_at_most_a_third_of_a_long_one(sign: str) -> None:
    lit = read_rhythm(f"Mo({sign}) 10s").phases_ticks[::2]
    assert 3 * min(lit) <= max(lit)
    assert sum(read_rhythm(f"Mo({sign}) 10s").phases_ticks) == 2000


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("Fl(2) 10s 00.8+(02.2)+00.8+(05.2)", "add up to 9 s"),
        ("Fl(3) 9s 00.8+(02.2)+00.8+(05.2)", "2 flashes"),
        ("Oc(2) 9s 00.8+(02.2)+00.8+(05.2)", "equal"),
        ("Oc(2) 13s (05.0)+01.0+(05.0)+02.0", "of light"),
        ("Fl(2) 9s 00.8+(02.2)+00.9+(05.1)", "equal"),
        ("Fl(2) 4s 00.3+(00.4)+00.3+(03.0)", "flashes a minute"),
        ("Q(2) 9s 00.8+(02.2)+00.8+(05.2)", "flashes a minute"),
        ("Iso 10s 04.0+(06.0)", "of light"),
        ("LFl 10s 01.5+(08.5)", "no long flash"),
        ("Mo(A) 8s 00.5+(00.5)+01.0+(06.0)", "do not spell"),
        ("Fl 1.2s", "flashes a minute"),
        ("Fl(9) 10s", "cannot be told"),
        ("LFl 4s", "more light than dark"),
        ("Fl", "no period"),
        ("F 3s", "fixed"),
    ],
)
def test_characters_that_cannot_be(text: str, what: str) -> None:
    with pytest.raises(Wrong, match=what) as refused:
        read_rhythm(text)
    assert refused.value.code == "rhythm-rule"


@pytest.mark.parametrize(
    "text",
    [
        "Fl(2) 9s 00.8+(02.2)+00.8+(05.2)",
        "Oc(2) 13s (01.0)+01.0+(01.0)+10.0",
        "Mo(A) 8s 00.4+(00.6)+02.0+(05.0)",
        "VQ(2)+LFl 6s 00.2+(00.3)+00.2+(00.3)+02.0+(03.0)",
        "Iso 10s 05.0+(05.0)",
    ],
)
def test_listed_times_that_fit_their_character_are_taken_as_they_are(text: str) -> None:
    assert read_rhythm(text) == read_rhythm(text.rpartition(" ")[2])


def test_a_chart_may_be_copied_with_its_dots_and_colours() -> None:
    plain = read_rhythm("Oc(2) 13s")
    assert all(read_rhythm(t) == plain for t in ("Oc(2)W.13s", "Oc(2) WRG 13s", "Oc(2).R.13s"))


def test_nothing_adds_up_to_more_or_less_than_the_period() -> None:
    """Periods and groups of all kinds: the sum is the period to the tick."""
    for n, period in itertools.product(range(1, 5), range(4, 31)):
        for kind in ("Fl", "Oc", "Q", "VQ"):
            try:
                pattern = read_rhythm(f"{kind}({n}) {period}.3s")
            except Wrong:
                continue
            if n > 1 or kind in ("Fl", "Oc"):
                assert sum(pattern.phases_ticks) * TICK_MS == period * 1000 + 300
