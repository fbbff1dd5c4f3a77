"""Faults to be planted: into what a ship file says, and into what behaviours do.

`PLANNED` are pairs of plans, what was meant and what it became, with the kind of claim that is to
be refuted. `WRITTEN` are faults in the logic itself, the same one in the encoding and in the
sketch's C++. All ships are invented.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gen.behaviours import (
    Auto,
    Dimmer,
    Follow,
    Function,
    Loss,
    Momentary,
    Pulse,
    Rhythm,
    Sequence,
    Step,
    Toggle,
    Winch,
)
from gen.behaviours.follow import Stick
from gen.behaviours.sequence import Leg
from gen.behaviours.trigger import Trigger, When
from gen.behaviours.winch import Duty
from gen.plan import Ask, Bar, Felt, First, Gate, Plan, Stage, StateOf
from host_tools.prove.encoding.behaviours.winch import WinchEncoding
from host_tools.prove.encoding.function import FunctionEncoding
from tests.host_tools.bench_ship import FLOAT, KEY_DOWN, KEY_UP, OTHER_DOWN, OTHER_UP, plan_with

if TYPE_CHECKING:
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


@dataclass(frozen=True)
class Planned:
    """A fault in what a plan says: `kind` is that of a claim about what was meant."""

    name: str
    kind: str
    meant: Plan
    planted: Plan


@dataclass(frozen=True)
class Written:
    """A fault in the logic: `wrong` takes the place of one method of an encoding, `faulty` that of
    the `sound` text in a header of the sketch."""

    name: str
    kind: str
    plan: Plan
    encoding: type
    method: str
    wrong: Any
    header: str
    sound: str
    faulty: str


FIRST_ON = StateOf(0, (1,))
CLOSED = Felt(FLOAT, 1, 1)
OPEN_FLOAT = Felt(FLOAT, 0, 0)


def _named(kind: type, **more: Any) -> Any:
    base: dict[str, Any] = {"name": "lamp", "code": "lamp", "on_loss": Loss.OFF}
    return kind(**(base | more))


def toggle(**more: Any) -> Toggle:
    """A lamp on line 2."""
    return _named(Toggle, **({"ask": KEY_UP, "drives": 2} | more))  # type: ignore[no-any-return]


def momentary(**more: Any) -> Momentary:
    """A horn on line 3."""
    base = {"name": "horn", "code": "horn", "ask": OTHER_UP, "drives": 3}
    return _named(Momentary, **(base | more))  # type: ignore[no-any-return]


def pulse(**more: Any) -> Pulse:
    """A bell that rings for 0.2 s."""
    base = {"name": "bell", "code": "bell", "ask": KEY_UP, "drives": 2, "duration_ticks": 40}
    return _named(Pulse, **(base | more))  # type: ignore[no-any-return]


def step(**more: Any) -> Step:
    """Lights in three states."""
    base = {
        "ask": KEY_UP,
        "back": None,
        "names": ("off", "low", "high"),
        "masks": (0, 1, 3),
        "duties": ((), (), ()),
        "own_lines": (2, 3),
        "own_lights": (),
        "wraps": True,
    }
    return _named(Step, **(base | more))  # type: ignore[no-any-return]


def rhythm(**more: Any) -> Rhythm:
    """A light that flashes."""
    base = {
        "trigger": Trigger(When.PRESSED, ask=KEY_UP),
        "phases_ticks": (10, 30),
        "begins_on": True,
        "repeats": True,
        "keeps_phase": False,
        "drives": 2,
        "text": "Fl 0.2s",
    }
    return _named(Rhythm, **(base | more))  # type: ignore[no-any-return]


def sequence(**more: Any) -> Sequence:
    """An engine that is started."""
    base = {
        "ask": KEY_UP,
        "abort": KEY_DOWN,
        "own_lines": (2, 3),
        "line_names": ("ignition", "starter"),
        "legs": (Leg(1, 40, None, False), Leg(3, 60, None, False), Leg(1, 0, None, False)),
        "waits": (),
    }
    return _named(Sequence, **(base | more))  # type: ignore[no-any-return]


def dimmer(**more: Any) -> Dimmer:
    """A lamp that fades in half a second."""
    base = {
        "trigger": Trigger(When.PRESSED, ask=KEY_UP),
        "brightness": 255,
        "knob": None,
        "up_per_256": 65280,
        "down_per_256": 653,
        "flicker": "",
        "seed": 1,
        "drives": 0,
    }
    return _named(Dimmer, **(base | more))  # type: ignore[no-any-return]


def follow(**more: Any) -> Follow:
    """A rudder."""
    base = {
        "name": "rudder",
        "code": "rudder",
        "stick": Stick(2, 3000),
        "travel_half_us": (2000, 3000, 4000),
        "drives": 0,
        "reverse": False,
        "step_per_256": 25_600,
    }
    return _named(Follow, **(base | more))  # type: ignore[no-any-return]


def winch(**more: Any) -> Winch:
    """A davit with short ways."""
    base = {
        "name": "davit",
        "code": "davit",
        "first": KEY_DOWN,
        "second": KEY_UP,
        "ways": ("lower", "raise"),
        "first_limit_ticks": 160,
        "second_limit_ticks": 200,
        "pause_ticks": 60,
        "drives": 0,
        "pair_lines": (0, 1),
    }
    return _named(Winch, **(base | more))  # type: ignore[no-any-return]


def auto(**more: Any) -> Auto:
    """A pump that a float switches."""
    base = {
        "name": "pump",
        "code": "pump",
        "when": CLOSED,
        "wait_ticks": 10,
        "run_on_ticks": 20,
        "longest_ticks": 100,
        "by_hand": None,
        "stop": KEY_DOWN,
        "drives": 2,
    }
    return _named(Auto, **(base | more))  # type: ignore[no-any-return]


def _became(name: str, kind: str, function: Function, *others: Function, **how: Any) -> Planned:
    """The last of these functions became another one."""
    meant = plan_with(*others, function)
    planted = plan_with(*others, dataclasses.replace(function, **how))
    return Planned(name, kind, meant, planted)


def _battery(function: Function, *, shed: bool) -> Plan:
    """The function is off while the float is open, which stands for a battery here."""
    gate = Gate(stage=0) if shed else Gate()
    plan = plan_with(dataclasses.replace(function, gate=gate))
    return dataclasses.replace(plan, stages=(Stage(OPEN_FLOAT, 10, CLOSED, 10),))


HOT = Duty.of(25, 400)
HORN_OFF = Gate(only_while=(FIRST_ON,))
BELL = {"name": "bell", "code": "bell", "drives": 2}
AFTER = First(FIRST_ON, 100)


def _kept_apart(horn: Gate, lamp: Gate) -> Plan:
    """A horn and a lamp with these gates."""
    return plan_with(momentary(gate=horn), toggle(gate=lamp))


HORN_NOT_WITH_LAMP = Gate(bars=(Bar((1,), StateOf(1, (1,))),))
LAMP_NOT_WITH_HORN = Gate(bars=(Bar((1,), FIRST_ON),))
APART = _kept_apart(HORN_NOT_WITH_LAMP, LAMP_NOT_WITH_HORN)


def _crane(davit: Gate, crane: Gate) -> Plan:
    """A winch and a horn of which only one may be asked."""
    return plan_with(momentary(gate=davit), toggle(gate=crane))


STOPS = _crane(Gate(both_is_stop=(1,)), Gate(both_is_stop=(0,)))

PLANNED = [
    _became("a pause a tick short", "pause", winch(), pause_ticks=59),
    _became("half a pause", "pause", winch(), pause_ticks=30),
    _became("no pause", "pause", winch(), pause_ticks=0),
    _became("one way a tick too far", "run limit", winch(), first_limit_ticks=161),
    _became("the other way a tick too far", "run limit", winch(), second_limit_ticks=201),
    _became(
        "both ways twice as far",
        "run limit",
        winch(),
        first_limit_ticks=320,
        second_limit_ticks=400,
    ),
    _became(
        "limits of the two ways exchanged",
        "run limit",
        winch(),
        first_limit_ticks=200,
        second_limit_ticks=160,
    ),
    _became("a motor that may run hot", "rest", winch(duty=HOT), duty=None),
    _became("a motor that runs too long at a time", "rest", winch(duty=HOT), duty=Duty.of(30, 400)),
    _became(
        "a motor that rests too short",
        "rest",
        winch(duty=HOT),
        duty=Duty(HOT.limit, HOT.warms, HOT.cools + 1),
    ),
    _became("an end switch left out", "end", winch(ends=(CLOSED, None)), ends=(None, None)),
    _became(
        "an end switch at the wrong end", "end", winch(ends=(CLOSED, None)), ends=(None, CLOSED)
    ),
    _became("an end switch that opens", "end", winch(ends=(CLOSED, None)), ends=(OPEN_FLOAT, None)),
    _became(
        "a stall cut-off left out",
        "stall",
        winch(stall=CLOSED, stall_ticks=20),
        stall=None,
        stall_ticks=0,
    ),
    _became(
        "a stall cut-off a tick late", "stall", winch(stall=CLOSED, stall_ticks=20), stall_ticks=21
    ),
    _became("any way is safe", "unknown", winch(unknown=(True, False)), unknown=(True, True)),
    _became(
        "the wrong way is safe", "unknown", winch(unknown=(False, True)), unknown=(True, False)
    ),
    _became("a winch by another key", "held", winch(), first=OTHER_DOWN),
    _became("a winch with its ways exchanged", "held", winch(), first=KEY_UP, second=KEY_DOWN),
    _became("a horn by another position", "held", momentary(), ask=OTHER_DOWN),
    _became("a bell that rings a tick too long", "time", pulse(), duration_ticks=41),
    _became("a bell that rings twice as long", "time", pulse(), duration_ticks=80),
    _became("a pump that runs a tick too long", "time", auto(), longest_ticks=101),
    _became("a pump that runs for ever", "time", auto(), longest_ticks=0),
    _became("a toggle that stays", "lost signal", toggle(), on_loss=Loss.KEEP),
    _became("a toggle that goes on", "lost signal", toggle(), on_loss=Loss.ON),
    _became(
        "a toggle that does not stay", "lost signal", toggle(on_loss=Loss.KEEP), on_loss=Loss.OFF
    ),
    _became(
        "a toggle that does not go on", "lost signal", toggle(on_loss=Loss.ON), on_loss=Loss.OFF
    ),
    _became("a horn that blows on", "lost signal", momentary(), on_loss=Loss.KEEP),
    _became("a horn that cries for its transmitter", "lost signal", momentary(), on_loss=Loss.ON),
    _became("a bell that rings on", "lost signal", pulse(duration_ticks=200), on_loss=Loss.KEEP),
    _became("steps that stay", "lost signal", step(), on_loss=Loss.KEEP),
    _became("steps that do not stay", "lost signal", step(on_loss=Loss.KEEP), on_loss=Loss.OFF),
    _became("a flashing light that stays", "lost signal", rhythm(), on_loss=Loss.KEEP),
    _became("a flashing light that begins", "lost signal", rhythm(), on_loss=Loss.ON),
    _became("a starter that goes on", "lost signal", sequence(), on_loss=Loss.KEEP),
    _became("a lamp that does not fade out", "lost signal", dimmer(), on_loss=Loss.KEEP),
    _became("a lamp that fades out too slowly", "lost signal", dimmer(), down_per_256=600),
    _became("a rudder that stays", "lost signal", follow(), on_loss=Loss.KEEP),
    _became("a rudder that comes back too slowly", "lost signal", follow(), step_per_256=20_000),
    _became("a pump that runs without its key", "lost signal", auto(), on_loss=Loss.KEEP),
    _became(
        "on without what it needs", "only while", momentary(gate=HORN_OFF), toggle(), gate=Gate()
    ),
    _became(
        "on with the wrong thing",
        "only while",
        momentary(gate=HORN_OFF),
        toggle(),
        gate=Gate(only_while=(StateOf(0, (0,)),)),
    ),
    _became(
        "a wait left out", "first", momentary(gate=Gate(first=(AFTER,))), toggle(), gate=Gate()
    ),
    _became(
        "a wait a tick short",
        "first",
        momentary(gate=Gate(first=(AFTER,))),
        toggle(),
        gate=Gate(first=(First(FIRST_ON, 99),)),
    ),
    _became(
        "no wait for it to be on",
        "first",
        momentary(gate=Gate(first=(AFTER,))),
        toggle(),
        gate=Gate(first=(First(FIRST_ON, 0),)),
    ),
    Planned("an interlock left out", "never with", APART, _kept_apart(Gate(), Gate())),
    Planned(
        "half an interlock: the first one",
        "never with",
        APART,
        _kept_apart(Gate(), LAMP_NOT_WITH_HORN),
    ),
    Planned(
        "half an interlock: the second one",
        "never with",
        APART,
        _kept_apart(HORN_NOT_WITH_LAMP, Gate()),
    ),
    Planned("both is stop left out", "both is stop", STOPS, _crane(Gate(), Gate())),
    Planned(
        "a lamp not shed",
        "low battery",
        _battery(toggle(), shed=True),
        _battery(toggle(), shed=False),
    ),
    Planned(
        "a rudder not shed",
        "low battery",
        _battery(follow(), shed=True),
        _battery(follow(), shed=False),
    ),
]  # fmt: skip - one fault a line, or two


def _stays_ready(
    self: FunctionEncoding[Any], me: Memory, ask: Ask, see: Seen, name: str = "ready"
) -> Any:
    setattr(me, name, self.a.any_of(getattr(me, name), self.at_rest(ask.control, see)))
    return self.a.both(getattr(me, name), self.held(ask, see))


def _nobody_looks(self: FunctionEncoding[Any], me: Memory, see: Seen) -> list[Any]:
    del me, see
    return [False for _ in self.function.states]


def _a_tick_early(self: WinchEncoding, me: Memory, wanted: Any) -> Any:
    still = me.still
    me.still = still + 1
    allowed = _LIMITED(self, me, wanted)
    me.still = still
    return allowed


def _does_not_begin_anew(self: WinchEncoding, me: Memory, wanted: Any) -> None:
    still = me.still
    _BECOME(self, me, wanted)
    me.still = self.a.either(wanted != 0, still, me.still)


def _costs_nothing(self: WinchEncoding, me: Memory, wanted: Any) -> None:
    first, second = me.first_room, me.second_room
    _BECOME(self, me, wanted)
    me.first_room = self.a.either(wanted == 1, first, me.first_room)
    me.second_room = self.a.either(wanted == 2, second, me.second_room)


def _both_lines(self: WinchEncoding, me: Memory) -> dict[int, Any]:
    first, second = self.function.pair_lines
    return {first: me.motor == 1, second: me.motor != 0}


_LIMITED, _BECOME = WinchEncoding.limited, WinchEncoding.become

WRITTEN = [
    Written("a press that needs no rest", "press", plan_with(toggle()), FunctionEncoding,
            "pressed", _stays_ready,
            "logic/control.h", "  ready = false;\n  return true;", "  return true;"),
    Written("a lost signal that nobody minds", "lost signal", plan_with(toggle()),
            FunctionEncoding, "signal_lost", lambda _self, _see: False,
            "logic/function.h", "what = function.when_lost(what, memory);", ""),
    Written("a gate that stands open", "only while",
            plan_with(toggle(), momentary(gate=HORN_OFF)), FunctionEncoding, "barred",
            _nobody_looks, "logic/gate.h", "? NOTHING : EVERYTHING", "? NOTHING : 4"),
    Written("a pause that ends a tick early", "pause", plan_with(winch()), WinchEncoding,
            "limited", _a_tick_early, "behaviours/winch.h",
            "memory.still_ticks < pause) {\n      return",
            "memory.still_ticks + 1 < pause) {\n      return"),
    Written("a pause that is not begun anew", "pause", plan_with(winch()), WinchEncoding,
            "become", _does_not_begin_anew,
            "behaviours/winch.h", "    memory.still_ticks = 0;\n", ""),
    Written("a way that costs nothing", "run limit", plan_with(winch()), WinchEncoding,
            "become", _costs_nothing, "behaviours/winch.h",
            "from = from - cost;", "from = from - (cost & 0u);"),
    Written("a pair driven both ways", "one way", plan_with(winch()), WinchEncoding,
            "lines_on", _both_lines, "behaviours/winch.h",
            "drives_.second, memory.motor == second_way",
            "drives_.second, memory.motor != stopped"),
]  # fmt: skip
