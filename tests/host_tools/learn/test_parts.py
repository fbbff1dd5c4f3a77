"""The parts of learning, each by what it promises."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.learn.bands import in_a_row, settle_for, stray_share
from host_tools.learn.levels import levels, noise_half_us
from host_tools.learn.loss import Loss, find_loss
from host_tools.learn.statistics import binomial_tail
from host_tools.learn.steps import MOVE, Step, read_step, steps_in, with_steps
from host_tools.learn.train import Train
from host_tools.learn.visits import Heard
from tests.radios.draw import draw_radio
from tests.radios.radio import Drops
from tests.radios.session import minute

STEPS = st.builds(
    lambda what, name, begin, lasts: Step(what, begin, begin + lasts, name if what == MOVE else ""),
    st.sampled_from(["still", MOVE, "off"]),
    st.sampled_from(["key", "deck key", "winch 2", "Ruderlage"]),
    st.integers(0, 20_000),
    st.integers(1, 20_000),
)


@given(st.lists(STEPS, max_size=5))
def test_steps_are_kept_in_a_source(steps: list[Step]) -> None:
    assert list(steps_in(with_steps("recorded from a recorder", steps))) == steps


@pytest.mark.parametrize("text", ["", "off", "move 0 s..5 s", "still 5 s..5 s", "off 1 s - 2 s"])
def test_what_is_no_step_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"step|ends before"):
        read_step(text)


@given(st.integers(1, 60), st.integers(0, 60), st.floats(0.05, 0.95))
def test_a_binomial_tail_is_the_sum_of_its_terms(count: int, least: int, chance: float) -> None:
    expected = sum(
        math.comb(count, k) * chance**k * (1 - chance) ** (count - k)
        for k in range(least, count + 1)
    )
    assert binomial_tail(count, least, chance) == pytest.approx(expected, abs=1e-12)


def test_a_known_binomial_tail() -> None:
    """Eight heads or more in ten throws: (45 + 10 + 1) / 1024 (from memory)."""
    assert binomial_tail(10, 8, 0.5) == pytest.approx(56 / 1024)


@given(st.floats(5_000, 25_000), st.floats(0, 0.01), st.floats(0, 0.1), st.integers(0, 99))
def test_frames_are_counted_whatever_a_tick_is(
    frame_us: float, shakes: float, missing: float, seed: int
) -> None:
    dice = np.random.default_rng(seed)
    count = 1500
    there = dice.random(count) >= missing
    there[[0, -1]] = True
    begins = np.arange(count) * frame_us + dice.normal(0, 1, count) * shakes * frame_us
    widths = dice.integers(1800, 4100, count)
    at = np.floor((begins + 3000 + widths / 2) / 5000).astype(np.int64)
    order = np.flatnonzero(there)
    train = Train("x", at[order], widths[order])
    assert train.period_us == pytest.approx(frame_us, rel=1e-2)
    assert train.missing == pytest.approx(count - there.sum(), abs=max(4, 0.01 * count))


@pytest.mark.parametrize("seed", range(4))
def test_jitter_is_seen_where_it_is_more_than_the_grain(seed: int) -> None:
    dice = np.random.default_rng(seed)
    begins = np.arange(4000) * 20_130 + dice.normal(0, 800, 4000) + 50_000
    at = np.sort(np.floor(begins / 5000)).astype(np.int64)
    train = Train("x", at, np.full(4000, 3000))
    assert train.jitter_us == pytest.approx(800, rel=0.25)


@pytest.mark.parametrize("sd_us", [0.3, 1.1, 4.0, 8.0])
def test_noise_is_the_standard_deviation_although_it_moves(sd_us: float) -> None:
    dice = np.random.default_rng(1)
    stands = np.repeat([1503.0, 2016.0, 991.0, 1503.0], 500)
    widths = np.round(2 * (stands + dice.normal(0, sd_us, 2000))).astype(np.int64)
    widths[::97] = 4321  # glitches
    assert noise_half_us(widths) / 2 == pytest.approx(max(sd_us, 0.25), rel=0.2, abs=0.15)


def test_levels_are_where_widths_gather() -> None:
    dice = np.random.default_rng(2)
    widths = np.concatenate([dice.normal(2 * one, 3, 300) for one in (991, 1503, 2016)])
    found = levels(widths.round().astype(np.int64), 4.0, 20)
    assert [round(one.centre / 2) for one in found] == [991, 1503, 2016]
    assert [one.count for one in found] == [300, 300, 300]


def test_an_in_between_width_makes_no_place() -> None:
    """In real logs a switch that was thrown showed one: 991, 1247, 2016; 2015, 1760, 1503."""
    widths = [991] * 40 + [1247] + [2016] * 40 + [1760] + [1503] * 40 + [1247] + [991] * 40
    column = np.array(widths) * 2
    heard = Heard(np.arange(len(column)) * 4, column, 20_000, 0.5)
    assert [one.centre / 2 for one in heard.levels] == [991, 1503, 2016]
    assert [one.level for one in heard.visits] == [0, 2, 1, 0]
    assert heard.on_its_way.tolist() == [1, 1, 1]


@given(st.floats(1e-6, 0.2), st.floats(3_600, 720_000))
def test_settle_is_the_least_that_is_seldom_wrong(strays: float, an_hour: float) -> None:
    settle = settle_for(strays, an_hour)
    assert settle >= 2
    assert settle == 50 or an_hour * strays**settle <= 1e-4
    assert settle == 2 or an_hour * strays ** (settle - 1) > 1e-4


def test_strays_are_counted_and_none_is_half_of_one() -> None:
    positions = [("off", 800, 1300), ("on", 1700, 2200)]
    at = np.arange(1000) * 4
    calm = Heard(at, np.full(1000, 2000), 20_000, 0.5)
    assert stray_share(calm, positions) == pytest.approx(0.5 / 999)
    widths = np.full(1000, 2000)
    widths[[100, 200, 300]] = 4000
    assert stray_share(Heard(at, widths, 20_000, 0.5), positions) == pytest.approx(3.5 / 999)
    assert in_a_row(0.1, 1000) > in_a_row(0.01, 1000) >= in_a_row(0.001, 1000)


VALID = (1400, 4600)


def lost(
    before_us: float, after_us: float | None, said_us: tuple[float, float]
) -> tuple[Loss, int, bool]:
    at = np.arange(0, 4000, 4)
    widths = np.where(at < 2000, 2 * before_us, 2 * (after_us or 0)).astype(np.int64)
    there = widths > 0
    found = find_loss(
        Train("x", at[there], widths[there]),
        (2000, 3900),
        (2 * said_us[0], 2 * said_us[1]),
        VALID,
        noise_half_us=1.0,
        shared=False,
    )
    return found.loss, found.lost_below_us or found.lost_above_us, found.is_caught


def test_what_happens_when_the_signal_goes() -> None:
    """The odd widths are those at which a real receiver froze: 755, 754, 548, 750, 793 … 1009."""
    assert lost(1503, None, (991, 2016)) == (Loss.SILENT, 0, True)
    assert lost(1503, 755, (991, 2016)) == (Loss.PRESET, 873, True)
    assert lost(1503, 2140, (991, 2016)) == (Loss.PRESET, 2078, True)
    assert lost(1503, 548, (991, 2016)) == (Loss.PRESET, 0, True)  # no valid pulse at all
    assert lost(1503, 1009, (991, 2016)) == (Loss.PRESET, 0, False)
    assert lost(1503, 1503, (991, 2016)) == (Loss.HOLDS, 0, False)


def test_radios_are_drawn_over_all_that_they_should_be() -> None:
    drawn = [draw_radio(seed) for seed in range(400)]
    frames = [one.frame_us for one in drawn]
    slots = {len(one.box.levers) for one in drawn if one.box is not None}
    assert min(frames) < 5_500
    assert max(frames) > 24_500
    assert slots == set(range(4, 25))
    assert {one.box.frames_per_slot for one in drawn if one.box is not None} == {1, 2, 3}
    assert {one.box.marker_low for one in drawn if one.box is not None} == {True, False}
    assert max(one.noise_us for one in drawn) > 7
    assert max(one.repeated + one.dropped for one in drawn) > 0.095
    assert {one.drops for one in drawn} == set(Drops)
    played, steps = minute(drawn[0])
    assert played.trace() == minute(drawn[0])[0].trace()
    assert steps[-1][0] == "off"
