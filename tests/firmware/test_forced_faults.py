"""Faults in how a force is obeyed are in the chip, too: the ways that refute them are gone there,
the forces over the link."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.boards import load_board
from gen.plan import Light, forced_by
from gen.render import render
from host_tools.firmware import FirmwareRung
from host_tools.firmware.pulses import lay_out
from host_tools.prove.claims import claims_of
from host_tools.prove.obligations import decide
from host_tools.prove.onlooker import first_failure
from host_tools.prove.rung import ProofRung
from tests.firmware.link_lines import at, line, together
from tests.host_tools.prove.forced_faults import FORCED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from host_tools.trace import Trace
    from tests.host_tools.prove.faults import Written

pytestmark = [pytest.mark.slow, pytest.mark.firmware]

NANO = load_board("nano")
CYCLES_A_TICK = 80_000
SPARE_TICKS = 8


def words(trace: Trace) -> Iterator[tuple[int, str]]:
    """What a host says so that this is forced, a line a tick: it arms first and is never silent."""
    ticks, sensors, readings = trace.felt
    force = len(trace.sensors) - 1
    said: dict[int, str] = {}
    armed = -1
    for tick, reading in zip(ticks[sensors == force], readings[sensors == force], strict=True):
        forced = forced_by(int(reading))
        if forced is None:
            said[int(tick)] = "free"
            armed = -1
        else:
            if forced[0] != armed:
                said[int(tick) - 1] = f"arm {forced[0]}"
                armed = forced[0]
            said[int(tick)] = f"force {forced[0]} {forced[1]}"
    for tick in range(10, trace.ticks):
        if tick in said or tick % 20 == 0:
            yield tick, said.get(tick, "here")


@pytest.mark.parametrize("fault", FORCED, ids=lambda fault: fault.name)
def test_the_firmware_goes_the_same_way(fault: Written, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = dataclasses.replace(fault.plan, lights=(Light("light", "light", "D11", "OC2A"),))
    monkeypatch.setattr(fault.encoding, fault.method, fault.wrong)
    claims = [one for one in claims_of(plan) if one.kind == fault.kind]
    told = [decide(plan, claim) for claim in claims]
    one = next(one for one in told if one.refutation is not None)
    way, claim = one.refutation, one.claim
    assert way is not None
    assert claim is not None
    sketch = dict(render(plan, NANO))
    file = f"src/{fault.header}"
    sketch[file] = sketch[file].replace(fault.sound, fault.faulty, 1)
    with FirmwareRung.of_sketch(plan, NANO, sketch) as rung:
        heard = together(
            *(
                at(rung.first_tick + tick * CYCLES_A_TICK, line(number & 0xFF, said))
                for number, (tick, said) in enumerate(words(way.trace))
            )
        )
        pulses = lay_out(way.trace.without_forces(), rung.first_tick).events()
        run = rung.run_events(pulses, way.trace.ticks + SPARE_TICKS, heard=heard)
        seen = rung.seen(run, way.trace.without_forces())
        assert seen.has_forces
        by_encoding = ProofRung(plan).run(seen)
        assert by_encoding.digests is not None
        assert np.array_equal(by_encoding.digests, run.ticks["report"]["digest"])
        assert np.array_equal(by_encoding.lines, rung.lines(run))
        assert first_failure(plan, claim, seen) is not None
