"""The most that may be on at once: against every combination, and against what ships do."""

from __future__ import annotations

import dataclasses
import itertools
import random
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.load import load_text
from gen.plan import Bar, StateOf
from host_tools.electrical.of_ship import electrics_of
from host_tools.electrical.reachable import MOST_SEARCHES, MOST_STEPS, Allowed, Most, _Search
from host_tools.model import Model
from host_tools.states import Doing
from host_tools.thumbs import random_trace
from tests.plans import random_plan

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.plan import Plan

HEAD = """
ship: Gannet
board: nano
receiver: {channels: {a: D2, b: D3, c: D4}}
controls: {one: a, two: b, three: c}
outputs:
  gate 1: D5
  gate 2: D6
  gate 3: D7
  pair: {lower: A0, raise: A1}
functions:
  lamp:  {toggle: one up, drives: gate 1%s}
  pump:  {toggle: one down, drives: gate 2%s}
  horn:  {momentary: two up, drives: gate 3%s}
  davit:
    winch: {lower: three down, raise: three up}
    limit: {lower: 1 s, raise: 1 s}
    drives: pair
"""
AMPERES = {"lamp": (0.0, 1.0), "pump": (0.0, 2.0), "horn": (0.0, 4.0), "davit": (0.0, 8.0, 6.0)}


def most(text: str) -> tuple[float, set[str]]:
    """The largest sum, and what is on then."""
    plan = load_text(text.encode()).plan
    weights = {index: AMPERES[function.name] for index, function in enumerate(plan.functions)}
    found = Allowed(plan).most(weights)
    assert found.exact
    return found.value, {plan.functions[i].name for i, state in found.states.items() if state}


@pytest.mark.parametrize(
    ("more", "groups", "sum_a", "on"),
    [
        (("", "", ""), "", 15.0, {"lamp", "pump", "horn", "davit"}),
        (("", ", never with: davit", ""), "", 13.0, {"lamp", "horn", "davit"}),
        (("", "", ", never with: davit lowering"), "", 13.0, {"lamp", "pump", "horn", "davit"}),
        ((", only while: pump", ", never with: davit", ""), "", 12.0, {"horn", "davit"}),
        (
            ("", "", ""),
            "groups: {one: {both is stop: [horn, davit]}}",
            *(11.0, {"lamp", "pump", "davit"}),
        ),
        (
            ("", "", ""),
            "groups: {one: {never together: [lamp, pump, horn]}}",
            *(12.0, {"horn", "davit"}),
        ),
        # `first` binds a start only: the lamp may go out again.
        (("", "", ", first: lamp for 1 s"), "", 15.0, {"lamp", "pump", "horn", "davit"}),
        # A horn that could only start beside a lamp that it is never with never sounds.
        (("", "", ", first: lamp, never with: lamp"), "", 11.0, {"lamp", "pump", "davit"}),
    ],
)
def test_by_hand(more: tuple[str, str, str], groups: str, sum_a: float, on: set[str]) -> None:
    assert most(HEAD % more + groups) == (sum_a, on)


def test_one_control_is_in_one_position_at_a_time() -> None:
    text = HEAD % ("", "", "")
    held = text.replace("toggle: one up", "momentary: two down")
    assert most(held) == (14.0, {"pump", "horn", "davit"})
    kept = held.replace("drives: gate 3", "drives: gate 3, on loss: keep")
    assert most(kept)[0] == 15.0


def test_a_function_that_can_never_start() -> None:
    plan = load_text((HEAD % ("", "", ", first: lamp, never with: lamp")).encode()).plan
    names = [function.name for function in plan.functions]
    allowed = Allowed(plan)
    assert not allowed.can_be(names.index("horn"), 1)
    assert allowed.can_be(names.index("lamp"), 1)


def permitted(plan: Plan, states: tuple[int, ...]) -> bool:
    """Whether all may be in these states at once: the rules as the guide tells them."""
    functions = plan.functions

    def broken(index: int, function: Function) -> bool:
        if not states[index]:
            return False
        gate = function.gate
        if not function.lingers and not all(
            states[of.function] in of.states for of in gate.only_while if of.function < index
        ):
            return True
        for bar in gate.bars:
            other = bar.of.function
            if other < index and states[other] in bar.of.states:
                seen = function.judged_as(states[index]) in bar.states
                back = Bar(bar.of.states, StateOf(index, bar.states))
                both = functions[other].judged_as(states[other]) in bar.of.states
                both = both and back in functions[other].gate.bars
                if seen and (both or not function.lingers):
                    return True
        return any(
            states[other] and not function.lingers and not functions[other].lingers
            for other in gate.both_is_stop
        )

    held: dict[int, int] = {}
    for index, function in enumerate(functions):
        if broken(index, function):
            return False
        ask = function.held_by[states[index]]
        if ask is not None and held.setdefault(ask.control, ask.position) != ask.position:
            return False
    return True


def small_plan(seed: int) -> Plan:
    """A drawn plan with conditions and few enough combinations to try them all."""
    plan = random_plan(seed)
    count = 1
    for function in plan.functions:
        count *= len(function.states)
    return plan if count <= 3000 else small_plan(seed + 1)


def with_first_left_out(plan: Plan) -> Plan:
    """Starting is another matter, which the hand-made cases try."""
    functions = tuple(
        dataclasses.replace(function, gate=dataclasses.replace(function.gate, first=()))
        for function in plan.functions
    )
    return dataclasses.replace(plan, functions=functions)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_the_search_finds_the_best_of_all_combinations(seed: int, draw: random.Random) -> None:
    plan = with_first_left_out(small_plan(seed))
    weights = {
        index: tuple(draw.choice((0.0, 0.5, 1.0, draw.random())) for _ in function.states)
        for index, function in enumerate(plan.functions)
    }
    best = max(
        sum(weights[index][state] for index, state in enumerate(states))
        for states in itertools.product(*(range(len(f.states)) for f in plan.functions))
        if permitted(plan, states)
    )
    found = Allowed(plan).most(weights)
    assert found.exact
    assert found.value == pytest.approx(best)
    assert found.value == pytest.approx(sum(weights[i][s] for i, s in found.states.items()))
    reached = tuple(found.states[index] for index in range(len(plan.functions)))
    assert permitted(plan, reached)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 1000))
def test_no_thumb_ever_gets_more_out_of_a_ship(seed: int, thumbs: int) -> None:
    """The model, which knows nothing of this search, is moved at random: no tick exceeds it."""
    plan = dataclasses.replace(random_plan(seed), bench=None)
    draw = random.Random(thumbs)
    lines = [draw.random() for _ in plan.lines]
    lights = [draw.random() for _ in plan.lights]
    weights = {}
    for index, function in enumerate(plan.functions):
        duties = function.level_patterns or ((0,), (1,))
        weights[index] = [
            sum(lines[line] for bit, line in enumerate(function.lines) if pattern >> bit & 1)
            + sum(lights[light] for light, d in zip(function.lights, duty, strict=True) if d)
            for pattern, duty in itertools.zip_longest(
                function.patterns if function.lines else (0,) * len(function.states),
                duties if function.lights else ((),) * len(function.states),
            )
        ]
    trace = random_trace(plan, 4_000, thumbs)
    record = Model(plan).run(dataclasses.replace(trace, kept=bytes(len(trace.kept))))
    drawn = np.zeros(record.ticks)
    for line, amperes in enumerate(lines):
        drawn += Doing(plan, record).line(line) * amperes
    drawn += (record.levels != 0) @ np.array(lights) if lights else 0
    assert drawn.max() <= Allowed(plan).most(weights).value + 1e-9


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_adding_a_load_never_lowers_the_sum(seed: int, draw: random.Random) -> None:
    plan = random_plan(seed)
    allowed = Allowed(plan)
    weights = {
        index: [draw.random() for _ in function.states]
        for index, function in enumerate(plan.functions)
    }
    before = allowed.most(weights).value
    index = draw.randrange(len(plan.functions))
    weights[index][draw.randrange(len(weights[index]))] += draw.random()
    assert allowed.most(weights).value >= before - 1e-12


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 30), st.randoms(use_true_random=False))
def test_a_search_that_is_cut_short_is_never_too_low(
    seed: int, steps: int, draw: random.Random
) -> None:
    plan = random_plan(seed)
    weights = {
        index: tuple(draw.random() for _ in function.states)
        for index, function in enumerate(plan.functions)
    }
    whole = Allowed(plan).most(weights)
    cut = Allowed(plan, most_steps=steps).most(weights)
    assert cut.value >= whole.value - 1e-12


def test_all_searches_of_a_ship_together_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sixty functions that a few rules bind crosswise, seen through a dozen lossy supplies: each
    supply asks another question."""
    draw = random.Random(1)
    kept_off = {n: [o for o in range(60) if o != n and draw.random() < 0.05] for n in range(60)}
    functions = "".join(
        f"  f{n}: {{toggle: key {'abcde'[n % 5]}, drives: shelf {n + 1},"
        f" never with: [{', '.join(f'f{other}' for other in others)}],"
        f" load: {{supply: s11, draws: 0.{n % 9 + 1} A, kind: lamp}}}}\n"
        for n, others in kept_off.items()
    ).replace(" never with: [],", "")
    bands = ", ".join(f"{'abcde'[n]}: {1100 + 200 * n}..{1200 + 200 * n} us" for n in range(5))
    supplies = "".join(
        f"  s{n}: {{from: {f's{n - 1}' if n else 'battery'}, voltage: {12 - n / 10} V,"
        f" rating: 50 A, efficiency: 9{n % 9} %, fuse: auto}}\n"
        for n in range(12)
    )
    ship = (
        "ship: Knot\nboard: mega\nboard supply: s11\nreceiver: {channels: {keys: D10}}\n"
        f"controls: {{key: {{from: keys, rest: off, positions: {{off: 900..1000 us, {bands}}}}}}}\n"
        "outputs: {shelf: {kind: shift register, data: D22, clock: D23, latch: D24, blank: D25,"
        f" outputs: 64}}}}\nfunctions:\n{functions}supplies:\n"
        "  battery: {voltage: 12 V, capacity: 7 Ah, chemistry: lead-acid, fuse: 30 A}\n" + supplies
    )
    loaded = load_text(ship.encode())
    tried = 0
    run = _Search.run

    def counted(search: _Search, domains: dict[int, int]) -> Most:
        nonlocal tried
        before, found = search.left, run(search, domains)
        tried += before - search.left
        return found

    monkeypatch.setattr(_Search, "run", counted)
    electrics_of(loaded.ship, loaded.plan, loaded.board)
    assert 0.5 * MOST_STEPS < tried < 1.2 * MOST_SEARCHES * MOST_STEPS
