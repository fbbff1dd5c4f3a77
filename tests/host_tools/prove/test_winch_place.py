"""Where a winch is, after the power went: the encoding keeps what the model keeps, and what is
claimed of that falls where it does not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from host_tools.model import Model
from host_tools.prove.algebra import Whole
from host_tools.prove.claims.winch_place import PlaceIsKept
from host_tools.prove.encoding.behaviours.winch import WinchEncoding
from host_tools.prove.encoding.ship import ShipEncoding
from host_tools.prove.induction import prove
from host_tools.thumbs import random_trace
from tests.host_tools.bench_ship import plan_with
from tests.host_tools.prove.faults import CLOSED, winch

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.encoding.part import Memory

PLAN = plan_with(winch(unknown=(True, False), ends=(CLOSED, None)))
NOBODY_KNOWS = 0xFFFFFFFF


def kept_by_encoding(plan: Plan, ticks: int, seed: int) -> bytes:
    """What it would find at the next power-up."""
    ship = ShipEncoding(Whole(), plan)
    *_, memory = ship.stepped(random_trace(plan, ticks, seed))
    (encoding,) = ship.functions
    assert isinstance(encoding, WinchEncoding)
    known, room = encoding.kept(memory.functions[0])
    return int(room if known else NOBODY_KNOWS).to_bytes(4, "little")


def test_the_encoding_keeps_what_the_model_keeps() -> None:
    kept = set()
    for seed in range(30):
        ticks = 150 + 37 * seed
        record = Model(PLAN).run(random_trace(PLAN, ticks, seed))
        assert record.kept == kept_by_encoding(PLAN, ticks, seed)
        kept.add(record.kept)
    assert len(kept) > 2


def _while_it_runs(self: WinchEncoding, me: Memory) -> tuple[Any, Any]:
    return me.first_room + me.second_room == self.travel, me.first_room


def _before_it_is_known(self: WinchEncoding, me: Memory) -> tuple[Any, Any]:
    del self
    return me.motor == 0, me.first_room


def _the_other_end(self: WinchEncoding, me: Memory) -> tuple[Any, Any]:
    known, _ = _KEPT(self, me)
    return known, me.second_room


_KEPT = WinchEncoding.kept


@pytest.mark.parametrize("wrong", [_while_it_runs, _before_it_is_known, _the_other_end])
def test_a_place_that_is_kept_wrongly_is_not_proved(
    wrong: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    claim = PlaceIsKept(PLAN, (0,))
    assert prove(PLAN, claim) is not None
    monkeypatch.setattr(WinchEncoding, "kept", wrong)
    assert prove(PLAN, claim) is None
