"""What proofs reason about is the model: stepped with plain integers it differs in no tick."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from gen.load import load
from host_tools.agree import agree, compare
from host_tools.cli.ships import starters
from host_tools.model.behaviours import MODELS
from host_tools.prove.encoding.behaviours import ENCODINGS
from host_tools.prove.encoding.behaviours.pulse import PulseEncoding
from host_tools.prove.encoding.behaviours.winch import WinchEncoding
from host_tools.prove.encoding.control import ControlEncoding
from host_tools.prove.encoding.sensors import StageEncoding
from host_tools.prove.rung import ProofRung
from host_tools.thumbs import random_trace
from tests.plans import random_plan

if TYPE_CHECKING:
    from host_tools.prove.encoding.part import Memory


@pytest.mark.parametrize("name", list(starters()))
def test_starters_agree(name: str) -> None:
    plan = load(starters()[name]).plan
    result = agree(plan, ProofRung(plan), 4_000, 1)
    assert result.difference is None
    assert result.ticks == 4_000


@pytest.mark.parametrize("seed", range(12))
def test_drawn_plans_agree(seed: int) -> None:
    plan = random_plan(seed)
    assert compare(plan, ProofRung(plan), random_trace(plan, 2_000, seed)) is None


def test_every_behaviour_has_an_encoding() -> None:
    assert ENCODINGS.keys() == MODELS.keys()


def _not_disarmed(self: ControlEncoding, me: Memory, alive: Any, lost: Any) -> None:
    was_armed = me.armed
    _JUDGE(self, me, alive, lost)
    me.armed = me.armed or was_armed


def _one_tick_longer(self: PulseEncoding, me: Memory, see: Any) -> Any:
    was_on = me.left > 0
    on = _PULSE(self, me, see)
    return on or was_on


_JUDGE, _PULSE = ControlEncoding.judge, PulseEncoding.asked


@pytest.mark.parametrize(
    ("encoding", "name", "fault"),
    [
        (ControlEncoding, "judge", _not_disarmed),
        (PulseEncoding, "asked", _one_tick_longer),
        (WinchEncoding, "limited", lambda _self, _me, wanted: wanted),
        (StageEncoding, "look", lambda _self, _me, _value: None),
    ],
)
def test_an_encoding_that_is_not_the_model_is_told(
    encoding: type, name: str, fault: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(encoding, name, fault)
    plans = (load(starters()[ship]).plan for ship in ("launch", "cutter"))
    told = (compare(p, ProofRung(p), random_trace(p, 8_000, 1)) for p in plans)
    assert any(difference is not None for difference in told)
