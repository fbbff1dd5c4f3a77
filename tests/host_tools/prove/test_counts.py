"""No count wraps: the widths are those of the sketch's memory, and one that could wrap is told."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import pytest

from gen.load import load
from host_tools.cli.ships import starters
from host_tools.prove.algebra import Whole
from host_tools.prove.claims.counts import CountsStay
from host_tools.prove.counts import count_lemmas
from host_tools.prove.encoding.behaviours.auto import AutoEncoding
from host_tools.prove.encoding.behaviours.winch import WinchEncoding
from host_tools.prove.encoding.channel import ChannelEncoding
from host_tools.prove.encoding.control import ControlEncoding
from host_tools.prove.encoding.part import Count, Memory
from host_tools.prove.encoding.sensors import StageEncoding
from host_tools.prove.encoding.ship import ShipEncoding
from host_tools.prove.induction import prove
from host_tools.prove.obligations import REFUTED, decide
from tests.host_tools.bench_ship import plan_with
from tests.host_tools.prove.faults import auto, pulse, rhythm, winch
from tests.plans import random_plan

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.encoding.part import Part


def parts(ship: ShipEncoding) -> Iterator[Part]:
    yield from (*ship.channels, *ship.controls, *ship.sensors, *ship.stages, *ship.functions)
    yield from (one for one in (ship.sum_signal, ship.force) if one is not None)


def words_of(part: Any, me: Memory) -> tuple[int, ...]:
    """What the digest reads of it, which is the sketch's memory word by word."""
    words = part.words(me, lost=True) if isinstance(part, ControlEncoding) else part.words(me)
    return tuple(words)


PLANS = {
    **{name: load(path).plan for name, path in starters().items()},
    **{f"drawn {seed}": random_plan(seed) for seed in range(12)},
}


@pytest.mark.parametrize("name", list(PLANS))
def test_each_count_has_the_bits_that_the_sketch_has(name: str) -> None:
    """With everything else full, a count from 0 to full changes so many bits of the memory."""
    for part in parts(ShipEncoding(Whole(), PLANS[name])):
        variables = part.variables()
        counts = {one: kind for one, kind in variables.items() if isinstance(kind, Count)}
        full = Memory(**dict.fromkeys(variables, True))
        for one, kind in counts.items():
            setattr(full, one, (1 << kind.bits) - 1)
        assert max(words_of(part, full)) <= 0xFFFF
        for one, kind in counts.items():
            if kind.high == 0:
                continue  # what can only be 0 may have no memory
            empty = full.copy()
            setattr(empty, one, 0)
            pairs = zip(words_of(part, full), words_of(part, empty), strict=True)
            assert sum((a ^ b).bit_count() for a, b in pairs) == kind.bits, (part, one)


def test_no_count_of_a_drawn_ship_wraps() -> None:
    for seed in (1, 2, 9):
        plan = random_plan(seed)
        assert all(lemma.proved for lemma in count_lemmas(plan))
        claims = [CountsStay(plan, (index,)) for index in range(len(plan.functions))]
        assert all(prove(plan, claim) is not None for claim in claims)


def test_a_time_that_the_sketch_has_no_bits_for_is_refuted() -> None:
    plan = plan_with(rhythm(phases_ticks=(10, 0x10000)))
    assert decide(plan, CountsStay(plan, (0,))).verdict == REFUTED


def test_a_pulse_of_a_day_still_fits() -> None:
    plan = plan_with(pulse(duration_ticks=24 * 3600 * 200))
    assert prove(plan, CountsStay(plan, (0,))) is not None


def _never_stops(self: WinchEncoding, me: Memory, wanted: Any) -> None:
    still = me.still
    _BECOME(self, me, wanted)
    me.still = self.a.either(wanted != 0, 0, still + 1)


def _counts_on(self: AutoEncoding, me: Memory, see: Any) -> Any:
    ran = me.ran
    _ASKED(self, me, see)
    me.ran = self.a.either(me.so0, ran + 1, 0)
    me.rests = False
    return me.so0


_BECOME, _ASKED = WinchEncoding.become, AutoEncoding.asked


@pytest.mark.parametrize(
    ("plan", "encoding", "method", "wrong"),
    [
        (plan_with(winch()), WinchEncoding, "become", _never_stops),
        (plan_with(auto()), AutoEncoding, "asked", _counts_on),
    ],
)
def test_a_count_that_goes_on_is_refuted(
    plan: Plan, encoding: type, method: str, wrong: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    claim = CountsStay(plan, (0,))
    assert prove(plan, claim) is not None
    monkeypatch.setattr(encoding, method, wrong)
    outcome = decide(plan, claim)
    assert outcome.verdict == REFUTED
    assert outcome.refutation is not None


def _grows_old(self: ChannelEncoding, me: Memory) -> None:
    del self
    me.age = me.age + 1


def _never_full(self: ControlEncoding, me: Memory, heard: Any, width: Any) -> None:
    del width
    me.count = self.a.either(heard, me.count + 1, me.count)


def _since_power_up(self: StageEncoding, me: Memory, value: Any) -> None:
    del self, value
    me.since = me.since + 1


@pytest.mark.parametrize(
    ("part", "method", "wrong"),
    [
        (ChannelEncoding, "grow", _grows_old),
        (ControlEncoding, "hear", _never_full),
        (StageEncoding, "look", _since_power_up),
    ],
)
def test_a_part_whose_count_goes_on_is_not_proved(
    part: type, method: str, wrong: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = load(starters()["cutter"]).plan
    assert plan.stages
    assert all(lemma.proved for lemma in count_lemmas(plan))
    monkeypatch.setattr(part, method, wrong)
    assert not all(lemma.proved for lemma in count_lemmas(plan))


def test_a_round_of_more_pulses_than_a_byte_counts_is_not_proved() -> None:
    plan = next(p for p in map(random_plan, range(20)) if any(c.sharing for c in p.channels))
    wide = tuple(
        dataclasses.replace(one, sharing=dataclasses.replace(one.sharing, frames_per_slot=200))
        if one.sharing is not None
        else one
        for one in plan.channels
    )
    assert all(lemma.proved for lemma in count_lemmas(plan))
    too_wide = dataclasses.replace(plan, channels=wide)
    assert not all(lemma.proved for lemma in count_lemmas(too_wide))
