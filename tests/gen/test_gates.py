"""Conditions between functions: from the ship file to the plan and into the sketch."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from gen.load import load_text
from gen.plan import Bar, Felt, First, Gate, StateOf
from gen.render import render
from gen.resources import resource
from tests.gen.small import NANO, small

if TYPE_CHECKING:
    from gen.load import Loaded

FUNCTIONS = """\
  lamp: {pulse: key up, for: 2 s, drives: relay}
  davit:
    winch: {lower: key down, raise: key up}
    limit: {lower: 8 s, raise: 9 s}
    drives: winch motor
"""


def ship(functions: str, groups: str = "") -> Loaded:
    return small(
        (FUNCTIONS, f"  {functions}\n"), ("drives: servo}\n", f"drives: servo}}\n{groups}")
    )


def with_conditions(lamp: str = "", davit: str = "", groups: str = "") -> dict[str, Gate]:
    loaded = ship(
        f"lamp: {{pulse: key up, for: 2 s, drives: relay{lamp}}}\n"
        f"  davit: {{winch: {{lower: key down, raise: key up}}, limit: {{lower: 8 s, raise: 9 s}},"
        f" drives: winch motor{davit}}}",
        groups,
    )
    order = [function.name for function in loaded.plan.functions]
    assert sorted(order) == ["arm", "davit", "lamp"]
    return {function.name: function.gate for function in loaded.plan.functions}


def order_of(gates: dict[str, Gate]) -> str:
    return " ".join(gates)


def test_without_conditions_the_order_is_by_name_and_every_gate_is_open() -> None:
    gates = with_conditions()
    assert order_of(gates) == "arm davit lamp"
    assert set(gates.values()) == {Gate()}


def test_a_function_stands_behind_the_one_that_it_depends_on() -> None:
    gates = with_conditions(davit=", only while: lamp")
    assert order_of(gates) == "arm lamp davit"
    assert gates["davit"] == Gate(only_while=(StateOf(1, (1,)),))


def test_a_state_of_a_function_can_be_named() -> None:
    gates = with_conditions(lamp=", only while: [davit lowering, arm at rest]")
    assert gates["lamp"].only_while == (StateOf(0, (0,)), StateOf(1, (1,)))


def test_first_and_then_are_two_sides_of_one_thing() -> None:
    first = with_conditions(davit=", first: lamp for 2 s")
    then = with_conditions(lamp=", then: davit after 2 s")
    assert first == then
    assert order_of(first) == "arm lamp davit"
    assert first["davit"].first == (First(StateOf(1, (1,)), 400),)


def test_never_with_works_both_ways_and_moves_nobody() -> None:
    one = with_conditions(lamp=", never with: davit lowering")
    assert order_of(one) == "arm davit lamp"
    assert one["lamp"].bars == (Bar((1,), StateOf(1, (1,))),)
    assert one["davit"].bars == (Bar((1,), StateOf(2, (1,))),)
    both = with_conditions(lamp=", never with: davit", davit=", never with: lamp")
    group = with_conditions(groups="groups: {not both: {never together: [lamp, davit]}}\n")
    assert both == group
    assert both["davit"].bars == (Bar((1, 2), StateOf(2, (1,))),)


def test_both_is_stop() -> None:
    gates = with_conditions(groups="groups: {not both: {both is stop: [lamp, davit]}}\n")
    assert (gates["davit"].both_is_stop, gates["lamp"].both_is_stop) == ((2,), (1,))


def test_the_longest_name_is_meant() -> None:
    loaded = ship(
        "lamp: {pulse: key up, for: 2 s, drives: relay, only while: davit at work lowering}\n"
        "  davit at work: {winch: {lower: key down, raise: key up},"
        " limit: {lower: 8 s, raise: 9 s}, drives: winch motor}"
    )
    assert [function.name for function in loaded.plan.functions] == ["arm", "davit at work", "lamp"]


def test_the_sketch_says_so_in_words_and_in_its_tick() -> None:
    loaded = ship(
        "lamp: {pulse: key up, for: 2 s, drives: relay, never with: davit lowering}\n"
        "  davit: {winch: {lower: key down, raise: key up}, limit: {lower: 8 s, raise: 9 s},"
        " drives: winch motor, first: arm for 2 s}",
        "groups: {one: {both is stop: [lamp, arm]}}\n",
    )
    sketch = render(loaded.plan, NANO)
    rows = sketch["gannet.ino"].splitlines()
    davit = next(row for row in rows if row.startswith("constexpr Winch"))
    assert davit.endswith("; lowering never with lamp; first arm for 2 s")
    assert next(row for row in rows if row.startswith("constexpr Pulse")).endswith(
        "for 2 s; never with davit lowering; stops with arm when both are asked for"
    )
    tick = sketch["src/tick.h"]
    assert (
        "  run(davit, ship_state.davit, outputs,\n"
        "      Gate::bar(2, lamp.state(ship_state.lamp) != 0)\n"
        "      | Gate::unless(ship_state.davit_since_1.held(arm.state(ship_state.arm) != 0, 400)"
        " || davit.state(ship_state.davit) != 0));\n"
    ) in tick
    assert "const Wanted<Pulse> lamp_wants = ask(lamp, ship_state.lamp);\n" in tick
    assert "run_asked(arm, ship_state.arm, arm_wants, outputs,\n" in tick


def test_a_sensor_may_begin_with_the_name_of_a_function() -> None:
    loaded = small(
        ("outputs:\n", "sensors: {davit current: {pin: A0, kind: analogue}}\noutputs:\n"),
        (
            "    drives: winch motor\n",
            "    drives: winch motor\n    stall: davit current above 2 V\n",
        ),
    )
    davit = next(f for f in loaded.plan.functions if f.name == "davit")
    assert davit.conditions == (Felt(0, 410, 1023),)


GUIDED = """\
ship: Example
board: mega
receiver: {channels: {deck keys: A8, bow keys: A9}}
controls: {deck key: deck keys, bow key: bow keys}
outputs:
  relay one: D22
  relay two: D23
  relay three: D24
  relay four: D25
"""

GROUPED = """\
functions:
  port anchor: {momentary: deck key up, drives: relay one}
  starboard anchor: {momentary: deck key down, drives: relay two}
  pump in: {momentary: bow key up, drives: relay three}
  pump out: {momentary: bow key down, drives: relay four}
"""


def test_the_guides_examples_hold() -> None:
    text = (resource("templates") / "guide" / "conditions.md").read_text(encoding="utf-8")
    functions, groups = re.findall(r"```yaml\n(.*?)```", text, flags=re.DOTALL)
    assert max(len(functions.splitlines()), len(groups.splitlines())) <= 6
    conditions = load_text((GUIDED + functions).encode(), "guide.yaml").plan.functions
    assert [f.name for f in conditions] == ["deck lights", "bell", "horn", "work lights"]
    assert [bool(f.gate.first) for f in conditions] == [False, True, False, False]
    grouped = load_text((GUIDED + GROUPED + groups).encode(), "guide.yaml").plan.functions
    assert [bool(f.gate.bars) for f in grouped] == [True, False, False, True]
    assert [bool(f.gate.both_is_stop) for f in grouped] == [False, True, True, False]
