"""Faults in how a bench's forces are obeyed: the same one in the encoding and in the sketch's C++.

The ships are those of `faults.py`, with a bench.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from gen.plan import Bar, Bench, Gate, Plan, StateOf
from host_tools.prove.encoding.behaviours.pulse import PulseEncoding
from host_tools.prove.encoding.force import ForceEncoding, is_known
from host_tools.prove.encoding.function import FunctionEncoding, OnOffEncoding
from tests.host_tools.bench_ship import plan_with
from tests.host_tools.prove.faults import Written, momentary, pulse, toggle, winch

if TYPE_CHECKING:
    from gen.behaviours import Function
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


def with_bench(*functions: Function) -> Plan:
    """A ship of these functions that a computer may work."""
    return dataclasses.replace(plan_with(*functions), bench=Bench(""))


def _never_off_first(self: ForceEncoding, me: Memory, function: Any, state: Any) -> None:
    known = is_known(self.a, self.most, function, state)
    function, state = self.a.either(known, function, 0), self.a.either(known, state, 0)
    me.begins = self.a.any_of(function != me.function, state != me.state)
    me.function, me.state = function, state
    me.barred = False


def _stays_on(self: OnOffEncoding[Any], me: Memory, force: Memory) -> Any:
    return self.a.any_of(me.on, force.state != 0)


def _rings_on(self: PulseEncoding, me: Memory, force: Memory) -> Any:
    fresh = self.a.both(force.begins, me.left == 0)
    me.left = self.a.either(fresh, self.function.duration_ticks, me.left)
    return me.left > 0


def _past_the_gate(self: FunctionEncoding[Any], me: Memory, index: int, see: Seen) -> None:
    barred = self.barred(me, see)
    me.wanted = self.wanted(me, index, see)
    state = self.state_of(me, me.wanted)
    out = self.a.any_of(*(self.a.both(state == one, so) for one, so in enumerate(barred)))
    forced = False if see.force is None else see.force.function == index + 1
    wanted = self.branch(self.a.both(out, self.a.no(forced)), me, self.when_barred, me.wanted)
    del me.wanted
    self.become(me, self.limited(me, wanted))
    see.states[index] = self.state(me)


def _past_limits(self: FunctionEncoding[Any], me: Memory, index: int, see: Seen) -> None:
    me.wanted = self.wanted(me, index, see)
    wanted = me.wanted
    del me.wanted
    forced = False if see.force is None else see.force.function == index + 1
    limited = self.limited(me, wanted)
    self.become(me, self.a.either(forced, wanted, limited))
    see.states[index] = self.state(me)


NEVER_WITH_LAMP = Gate(bars=(Bar((1,), StateOf(0, (1,))),))
LIMITED = "function.become(function.limited(wanted.what, memory), memory);"

SHORT = winch(first_limit_ticks=16, second_limit_ticks=20, pause_ticks=4)

FORCED = [
    Written("a force that does not end with off", "force", with_bench(toggle()), ForceEncoding,
            "look", _never_off_first,
            "logic/force.h", "if (function != function_ && state_ != 0) {",
            "if (function != function_ && state_ > 0xFEu) {"),
    Written("what was on stays on", "force", with_bench(toggle()), OnOffEncoding,
            "as_forced", _stays_on,
            "logic/function.h", "as_forced(Forced forced, const Memory&) const { return forced",
            "as_forced(Forced forced, const Memory& memory) const { return memory.on || forced"),
    Written("a bell that rings on", "force", with_bench(pulse()), PulseEncoding,
            "as_forced", _rings_on,
            "behaviours/pulse.h", "    return begun(memory, forced, duration_.ticks);",
            "    begun(memory, forced, duration_.ticks);\n    return memory.left > 0;"),
    Written("a force that no gate stops", "never with",
            with_bench(toggle(), momentary(gate=NEVER_WITH_LAMP)), FunctionEncoding,
            "run", _past_the_gate,
            "logic/function.h", "if ((barred >> wanted.state & 1u) != 0) {",
            "if (!force.exists() && (barred >> wanted.state & 1u) != 0) {"),
    Written("a force that needs no pause", "pause", with_bench(winch()), FunctionEncoding,
            "run", _past_limits,
            "logic/function.h", LIMITED,
            "function.become(force.exists() ? wanted.what : function.limited(wanted.what, memory),"
            " memory);"),
    Written("a force past the limit", "run limit", with_bench(SHORT), FunctionEncoding,
            "run", _past_limits,
            "logic/function.h", LIMITED,
            "function.become(force.exists() ? wanted.what : function.limited(wanted.what, memory),"
            " memory);"),
]  # fmt: skip
