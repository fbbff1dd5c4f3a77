"""Looks on while a ship runs a trace, and says where a claim does not hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.prove.algebra import Whole
from host_tools.prove.encoding.part import Memory
from host_tools.prove.encoding.ship import ShipEncoding
from host_tools.prove.system import HEARD, LOST, SILENT, Moment

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.claim import Claim
    from host_tools.prove.encoding.ship import ShipMemory
    from host_tools.trace import Trace


def first_failure(plan: Plan, claim: Claim, trace: Trace) -> tuple[int, tuple[int, ...]] | None:
    """The first tick of `trace` in which `claim` does not hold of `plan`, and the states of all
    functions in the tick before; None if it holds throughout."""
    ship = ShipEncoding(Whole(), plan)
    system = claim.system(Whole(), plan, claim.reaches(plan))
    watch = Memory(**{name: one.start for name, one in claim.watches().items()})
    before = _moment(ship, ship.left(trace.kept))
    for tick, memory in enumerate(ship.stepped(trace)):
        now = _moment(ship, memory)
        claim.watch(system, watch, before, now)
        if not claim.holds(system, watch, now):
            return tick, tuple(before.states[i] for i in range(len(plan.functions)))
        before = now
    return None


def _moment(ship: ShipEncoding, memory: ShipMemory) -> Moment:
    """What a ship is like, kept as it is now."""
    phases = {}
    for index, channel in enumerate(ship.channels):
        mine = memory.channels[index]
        phases[index] = LOST if channel.lost(mine) else HEARD if channel.alive(mine) else SILENT
    functions = {index: mine.copy() for index, mine in enumerate(memory.functions)}
    return Moment(
        functions=functions,
        states={i: one.state(functions[i]) for i, one in enumerate(ship.functions)},
        controls={index: mine.copy() for index, mine in enumerate(memory.controls)},
        phases=phases,
        sensors={index: mine.value for index, mine in enumerate(memory.sensors)},
        stages={index: mine.copy() for index, mine in enumerate(memory.stages)},
        force=memory.force.copy() if memory.force is not None else None,
    )
