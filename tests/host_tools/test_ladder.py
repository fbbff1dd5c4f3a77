"""Model and compiled logic agree to the bit on every tick; planted faults are found."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.behaviours import Dimmer, Loss, Momentary, Toggle
from gen.behaviours.trigger import Trigger, When
from gen.boards import load_board
from gen.plan import Ask, Gate, StateOf
from gen.render import render
from host_tools.agree import agree, compare
from host_tools.logic import LogicRung
from host_tools.model import Model
from host_tools.thumbs import random_trace
from tests.host_tools.bench_ship import (
    CENTRE,
    KEY_UP,
    OTHER_UP,
    UP,
    plan_with,
    worked,
)
from tests.plans import random_plan

if TYPE_CHECKING:
    from collections.abc import Iterator

MEGA = load_board("mega")


@pytest.mark.parametrize("seed", range(12))
def test_drawn_plans_agree(seed: int) -> None:
    plan = random_plan(seed)
    with LogicRung(plan, render(plan, MEGA)) as logic:
        result = agree(plan, logic, 60_000, seed)
    assert result.difference is None
    assert result.ticks == 60_000


@pytest.mark.parametrize("seed", range(4))
def test_what_is_kept_agrees(seed: int) -> None:
    plan = random_plan(seed, functions=14)
    assert plan.kept_bytes
    model = Model(plan)
    with LogicRung(plan, render(plan, MEGA)) as logic:
        for ticks in (1, 300, 5_000):
            trace = random_trace(plan, ticks, seed)
            assert logic.run(trace).kept == model.run(trace).kept


def test_one_that_stops_others_is_asked_in_the_tick_in_which_its_gate_opens() -> None:
    """Its asking changes what it remembers: a lamp that is held, kept off, and then no longer."""
    lamp = Toggle(name="lamp", code="lamp", on_loss=Loss.OFF, ask=KEY_UP, drives=2)
    horn = Momentary(name="horn", code="horn", on_loss=Loss.OFF, ask=Ask(2, 0), drives=3)
    saloon = Dimmer(
        name="saloon",
        code="saloon",
        on_loss=Loss.OFF,
        trigger=Trigger(When.HELD, OTHER_UP),
        brightness=200,
        knob=None,
        up_per_256=99,
        down_per_256=99,
        flicker="",
        seed=1,
        drives=0,
        gate=Gate(only_while=(StateOf(0, (1,)),), both_is_stop=(2,)),
    )
    horn = dataclasses.replace(horn, gate=Gate(both_is_stop=(1,)))
    plan = plan_with(lamp, saloon, horn)
    trace = worked(plan, (60, [CENTRE]), (60, [CENTRE, UP]), (60, [UP, UP])).trace
    with LogicRung(plan, render(plan, load_board("nano"))) as logic:
        assert compare(plan, logic, trace) is None


def test_undefined_behaviour_and_memory_errors_are_absent() -> None:
    plan = random_plan(21, functions=14)
    flags = ("-fsanitize=undefined,address", "-fno-sanitize-recover=all", "-g")
    with LogicRung(plan, render(plan, MEGA), flags) as logic:
        assert agree(plan, logic, 100_000, 3).difference is None


@pytest.fixture(scope="module")
def logic() -> Iterator[LogicRung]:
    plan = random_plan(14)
    with LogicRung(plan, render(plan, MEGA)) as rung:
        yield rung


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 2**32), ticks=st.integers(1, 4000))
def test_drawn_traces_agree(logic: LogicRung, seed: int, ticks: int) -> None:
    trace = random_trace(logic.plan, ticks, seed)
    assert compare(logic.plan, logic, trace) is None


PLANTED = [
    ("logic/channel.h", "++bad_pulses_;", "bad_pulses_ += 2;"),
    ("logic/channel.h", "width > Rules::valid_high", "width >= Rules::valid_high"),
    ("logic/channel.h", "width < Rules::valid_low", "width <= Rules::valid_low"),
    ("logic/channel.h", "width < Rules::lost_below", "width <= Rules::lost_below"),
    ("logic/channel.h", "width > Rules::lost_above", "width >= Rules::lost_above"),
    ("logic/channel.h", "age_ticks_ = 0;", "age_ticks_ = 1;"),
    ("logic/channel.h", "return age_ticks_ == Rules", "return age_ticks_ >= Rules"),
    ("logic/channel.h", "age_ticks_ < Rules", "age_ticks_ <= Rules"),
    ("logic/control.h", "count_ >= settle_pulses", "count_ > settle_pulses"),
    ("logic/control.h", "width + Rules::hysteresis >=", "width + Rules::hysteresis >"),
    ("logic/control.h", "from_flash(&now.high) + Rules::hysteresis", "from_flash(&now.high)"),
    ("logic/control.h", "count_ = 0;\n    } else {\n      move", "} else {\n      move"),
    ("logic/control.h", "width >= from_flash(&bands[i].low)", "width > from_flash(&bands[i].low)"),
    (
        "logic/control.h",
        "width <= from_flash(&bands[i].high)",
        "width < from_flash(&bands[i].high)",
    ),
    ("logic/control.h", "flags_ = LOST;", "flags_ |= LOST;"),
    ("logic/control.h", "flags_ &= ARMED;", ""),
    (
        "logic/control.h",
        "return armed() && position_ == position;",
        "return position_ == position;",
    ),
    ("logic/control.h", "change > dead_band", "change >= dead_band"),
    ("logic/control.h", "  ready = false;\n  return true;", "  return true;"),
    ("logic/function.h", "what = function.when_lost(what, memory);", ""),
    ("logic/function.h", "wanted.what = function.when_barred(memory);", ""),
    ("logic/function.h", "barred >> wanted.state & 1u", "barred >> 1 & 1u"),
    ("logic/gate.h", "? NOTHING : EVERYTHING", "? NOTHING : 4"),
    ("logic/function.h", "what = function.as_forced(force.what(), memory);", ""),
    ("logic/function.h", "return forced.state != 0; }", "return forced.state == 0; }"),
    ("logic/force.h", "      state = 0;\n", ""),
    ("logic/force.h", "    barred_ = 0;\n", ""),
    ("logic/force.h", "force_.barred_ = force_.state_ != 0;", "force_.barred_ = 1;"),
    ("logic/force.h", "function != function_ && state_ != 0", "function == 0 && state_ != 0"),
    ("logic/force.h", "function != function_ || state != state_", "function != function_"),
    ("logic/force.h", "function <= functions", "function < functions"),
    ("logic/force.h", "(said & 0xFFu) < from_flash", "(said & 0xFFu) + 1u < from_flash"),
    ("behaviours/pulse.h", "forced.begins && memory.left == 0", "memory.left == 0"),
    ("behaviours/pulse.h", "forced.state != 0 && memory.left", "memory.left"),
    ("behaviours/rhythm.h", "forced.begins && phases_.after != After::never_rest", "forced.begins"),
    ("behaviours/rhythm.h", "memory.phase = BEFORE_THE_FIRST;", ""),
    ("behaviours/rhythm.h", "(forced.begins || memory.running)", "true"),
    ("behaviours/sequence.h", "return leg;", "return 1;"),
    ("behaviours/sequence.h", "forced.begins ? first_leg", "true ? first_leg"),
    (
        "behaviours/sequence.h",
        "now != 0 && memory.left_ticks <= 1",
        "now != 0 && memory.left_ticks <= 2",
    ),
    ("behaviours/step.h", "return forced.state; }", "return forced.state != 0; }"),
    ("behaviours/winch.h", "<State>(forced.state)", "<State>(forced.state != 0)"),
    ("behaviours/dimmer.h", "was_lit && memory.on ? shone", "was_lit && memory.on ? lit"),
    ("behaviours/dimmer.h", "memory.on = forced.state != 0;", "memory.on = forced.state != 255;"),
    (
        "behaviours/follow.h",
        "forced.state == HIGH_END ? travel_.high",
        "forced.state == HIGH_END ? travel_.middle",
    ),
    ("behaviours/follow_more.h", "memory.neutral_ticks = 0;\n    return", "return"),
    ("logic/gate.h", "return so ? states", "return !so ? states"),
    ("logic/gate.h", "ticks_ = 0;\n      return", "return"),
    ("logic/gate.h", "if (ticks_ == for_ticks) {", "if (ticks_ + 1 == for_ticks) {"),
    ("behaviours/follow.h", "> NEAR_REST", ">= NEAR_REST"),
    ("behaviours/follow.h", "memory.target = drives_.rest;\n    return", "return"),
    ("logic/control.h", "      position_ = NO_POSITION;\n      move", "      move"),
    ("logic/control.h", "value_ = low;", "value_ = width;"),
    ("logic/control.h", "value_ - high > dead_band", "value_ - high >= dead_band"),
    ("logic/control.h", "last_ = width;\n", "\n"),
    ("logic/shared_channel.h", "good = pulses_ == WHOLE;", "good = pulses_ >= WHOLE;"),
    ("logic/shared_channel.h", "width >= Sharing", "width > Sharing"),
    ("logic/shared_channel.h", "width <= Sharing", "width < Sharing"),
    ("logic/shared_channel.h", "pulses_ / FRAMES_PER_SLOT", "pulses_ % SLOTS"),
    ("logic/shared_channel.h", "bad_in_a_row_ = 0;", ""),
    ("logic/shared_channel.h", "if (pulses_ == 0) {", "if (WHOLE == 0) {"),
    ("logic/shared_channel.h", "pulses_ = WHOLE + 1;", "stay_alive();"),
    (
        "logic/shared_channel.h",
        "BAD_CYCLES_MOST) {\n      stay_alive();",
        "BAD_CYCLES_MOST + 1) {\n      stay_alive();",
    ),
    ("logic/sum_signal.h", "interval >= Rules::gap", "interval > Rules::gap"),
    ("logic/sum_signal.h", "valid && places_", "(valid || places_ == 0) && places_"),
    ("logic/sum_signal.h", "places_ = PLACES + 1;", "places_ = PLACES;"),
    ("logic/sum_signal.h", "++dropped_frames_;", ""),
    ("logic/sum_signal.h", "widths_[places_] = interval;", "widths_[0] = interval;"),
    ("logic/function.h", "keeps() ? memory.on :", "!keeps() ? memory.on :"),
    ("behaviours/pulse.h", "if (pressed && left == 0) {", "if (pressed) {"),
    (
        "behaviours/pulse.h",
        "if (!state) {\n      memory.left = 0;",
        "if (!state) {\n      memory.on = false;",
    ),
    (
        "behaviours/winch.h",
        "still_ticks < pause) {\n      return",
        "still_ticks + 1 < pause) {\n      return",
    ),
    ("behaviours/winch.h", "first_room < cost", "first_room <= cost"),
    ("behaviours/winch.h", "second_room < cost", "second_room + 1 < cost"),
    ("behaviours/winch.h", "first_.held() == second_.held()", "!first_.held() && !second_.held()"),
    ("behaviours/winch.h", "return first_.lost() || second_.lost();", "return first_.lost();"),
    ("behaviours/winch.h", "cost < lacking ? cost : lacking", "lacking > 0 ? cost : lacking"),
    ("behaviours/winch.h", "memory.still_ticks = 0;", ""),
    ("behaviours/winch_more.h", "at_first_end ? 0 : travel", "at_first_end ? 1 : travel"),
    ("behaviours/winch_more.h", "(at_second_end && wanted", "(at_first_end && wanted"),
    ("behaviours/winch_more.h", "stalled_ticks < most_ticks", "stalled_ticks <= most_ticks"),
    (
        "behaviours/winch_more.h",
        "memory.stopped_by_stall = false;\n    }\n    return",
        "\n    }\n    return",
    ),
    ("behaviours/winch_more.h", "second_room = whole() - room", "second_room = room"),
    ("logic/function.h", "*from == 1", "*from != 0"),
    ("logic/kept.h", "value << 8", "value << 4"),
    ("behaviours/winch_more.h", "memory.first_room == travel", "memory.first_room >= travel"),
    ("behaviours/winch_more.h", "? unknown_.first :", "? unknown_.second :"),
    ("behaviours/winch_more.h", "warms >= limit", "warms > limit"),
    ("behaviours/winch_more.h", "before > cools", "before > warms"),
    ("behaviours/winch_more.h", "memory.resting = false;", ""),
    ("behaviours/follow.h", "turn_ == Turn::reverse", "turn_ != Turn::reverse"),
    ("behaviours/follow.h", "part + 0x8000u", "part"),
    ("behaviours/follow.h", "over_4096(product(x, x))", "over_4096(product(x, x) + x)"),
    ("logic/deflection.h", "<HalfUs>(far - dead)", "<HalfUs>(far - dead / 2)"),
    ("logic/deflection.h", "high_gain) + 2048u;", "high_gain);"),
    ("logic/deflection.h", "beyond ? FULL :", "beyond ? FULL - 1 :"),
    ("logic/deflection.h", "+ reach / 2", ""),
    ("behaviours/follow_more.h", "product(size, parts) >> 8", "product(size, parts) >> 7"),
    ("behaviours/follow_more.h", "!= (per_256 < 0)", "!= (per_256 > 0)"),
    ("behaviours/follow_more.h", "obey(tie_.stick()", "obey(stick()"),
    ("behaviours/follow_more.h", "by_.lost() || stick_.lost()", "stick_.lost()"),
    ("behaviours/follow_more.h", "+ 1u) : 0u;", "+ 1u) : 1u;"),
    ("behaviours/follow_more.h", "--memory.neutral_ticks;", ""),
    ("behaviours/follow_more.h", "memory.target = rest();", ""),
    ("logic/gate.h", "low() ? above : below", "low() ? above || below : below"),
    ("logic/gate.h", "low() ? back_ticks : for_ticks", "low() ? for_ticks : back_ticks"),
    ("logic/gate.h", "      since_ = Since();\n", ""),
    ("logic/gate.h", "shed_ = 1;", "shed_ = at_rest;"),
    (
        "logic/gate.h",
        "} else if (at_rest) {\n      shed_ = 0;",
        "} else if (at_rest || shed_ > 0) {\n      shed_ = 0;",
    ),
    ("logic/sensor.h", "value_ >= low", "value_ > low"),
    ("logic/sensor.h", "value_ <= high", "value_ < high"),
    ("logic/sensor.h", "level -= part(", "level -= 1 + part("),
    ("logic/sensor.h", "difference << 4 >> 16", "difference << 5 >> 16"),
    ("logic/sensor.h", "level + 0x8000u", "level + 0x7000u"),
    ("logic/sensor.h", "count_ >= debounce_ticks", "count_ > debounce_ticks"),
    ("logic/sensor.h", "count_ = 0;\n      return;", "return;"),
    ("logic/sensor.h", "share_per_65536 == 0 || value_ == NOT_FELT", "share_per_65536 == 0"),
    ("behaviours/auto.h", "memory.waited = 0;", ""),
    ("behaviours/auto.h", "memory.waited = 0;\n      memory.rests = false;", "memory.waited = 0;"),
    ("behaviours/auto.h", "memory.ran == longest", "memory.ran + 1 == longest"),
    ("behaviours/auto.h", "if (stopped || (", "if ((stopped && runs) || ("),
    ("behaviours/auto.h", "!stopped && by_hand", "by_hand"),
    ("behaviours/auto.h", "(!stopped && by_hand_.held())", "false"),
    ("behaviours/auto.h", "return keeps() && wanted;", "return wanted;"),
    ("behaviours/auto.h", "memory.run_on_left = 0;\n      memory.ran = 0;", "memory.ran = 0;"),
    ("behaviours/auto.h", "memory.run_on_left > 0", "memory.run_on_left > 1"),
    ("behaviours/follow.h", "loss_ != Loss::keep", "loss_ == Loss::keep"),
    ("behaviours/follow.h", "now + step : wanted", "wanted : wanted"),
    ("logic/outputs.h", "on >> 1", "on"),
    ("logic/outputs.h", "levels[light.index] =", "levels[LIGHT_SLOTS - 1u - light.index] ="),
    ("logic/trigger.h", "off == Off::by_itself || !was", "off == Off::by_press || !was"),
    ("logic/trigger.h", "return when_ == When::always || so;", "return so;"),
    ("behaviours/rhythm.h", "memory.left_ticks > 1", "memory.left_ticks > 0"),
    ("behaviours/rhythm.h", "first == Begins::on ? 0u", "first == Begins::off ? 0u"),
    ("behaviours/rhythm.h", "if (after == After::stop) {", "if (after == After::never_rest) {"),
    (
        "behaviours/rhythm.h",
        "after == After::never_rest ? memory.left_ticks == 0 : begins",
        "begins",
    ),
    (
        "behaviours/rhythm.h",
        "} else if (state || after == After::never_rest) {",
        "} else if (state) {",
    ),
    ("behaviours/rhythm.h", "memory.running = false;\n      memory.phase", "memory.phase"),
    (
        "behaviours/rhythm.h",
        "loss_ == Loss::keep ? memory.running",
        "loss_ == Loss::off ? memory.running",
    ),
    ("behaviours/rhythm.h", "(memory.on ? ON : PAUSING)", "ON"),
    ("behaviours/step.h", "AtTheEnd::wrap ? beyond", "AtTheEnd::stop ? beyond"),
    ("behaviours/step.h", "ready ? memory.ready | way : memory.ready & ~way", "memory.ready | way"),
    ("behaviours/step.h", "back_.exists() && back_.lost()", "false"),
    ("behaviours/step.h", "loss_ == Loss::keep ? memory.at", "loss_ != Loss::keep ? memory.at"),
    ("behaviours/step.h", "*from < states_.count", "*from <= states_.count"),
    ("behaviours/rhythm.h", "phases_.count - 1u", "phases_.count - 2u"),
    ("behaviours/dimmer.h", "memory.on = *from == 1", "memory.on = *from != 0"),
    ("behaviours/step.h", "memory.at * lights_.count + i", "i"),
    ("behaviours/sequence.h", "memory.left_ticks <= 1", "memory.left_ticks <= 2"),
    ("behaviours/sequence.h", "memory.so >> leg.until & 1u", "memory.so & 1u"),
    ("behaviours/sequence.h", "!came && leg.late == Late::abort", "leg.late == Late::abort"),
    ("behaviours/sequence.h", "now == count ?", "now + 1 == count ?"),
    ("behaviours/sequence.h", "abort_.exists() && abort_.held()", "false"),
    (
        "behaviours/sequence.h",
        "loss_ == Loss::keep && memory.leg != 0 ? wanted",
        "memory.leg != 0 ? wanted",
    ),
    ("behaviours/sequence.h", "memory.leg != 0 ? wanted", "memory.leg != 255 ? wanted"),
    ("behaviours/dimmer.h", "now + up) : wanted", "now + up) : now"),
    ("behaviours/dimmer.h", "now - wanted > down", "now - wanted >= up"),
    ("behaviours/dimmer.h", "x ^ x >> 9", "x ^ x >> 8"),
    ("behaviours/dimmer.h", "x >> 13 < dark_of_8", "x >> 13 <= dark_of_8"),
    ("behaviours/dimmer.h", "knob_.armed() ? scaled", "true ? scaled"),
    ("behaviours/dimmer.h", "memory.on = loss_ == Loss::on;", ""),
    (
        "behaviours/dimmer.h",
        "value < high_end ? value : high_end",
        "value < high_end ? value : low_end",
    ),
]


USED_BY = {
    "logic/deflection.h": "follow",
    "behaviours/follow_more.h": "follow",
    "logic/kept.h": "winch",
    "behaviours/winch_more.h": "winch",
}
"""The behaviour that alone uses a part, where that is not named after it."""


IN_TURN = ("logic/shared_channel.h", "logic/sum_signal.h")
"""Parts of channels that are shared or in a sum signal; other faults are found sooner without."""

SLOTS = (
    "      position_ = NO_POSITION;\n      move",
    "value_ = low;",
    "value_ - high > dead_band",
    "last_ = width;\n",
)
"""What controls do on shared channels alone. It shows where something follows them."""


@pytest.mark.parametrize(("header", "sound", "faulty"), PLANTED, ids=lambda text: text[:24])
def test_a_planted_fault_is_found_and_told_by_a_short_trace(
    header: str, sound: str, faulty: str
) -> None:
    behaviour = USED_BY.get(header, Path(header).stem if header.startswith("behaviours/") else "")
    if sound in SLOTS:
        behaviour = "follow"
    in_turn = header in IN_TURN or sound in SLOTS
    for seed in range(24):
        plan = random_plan(seed, functions=10, favour=behaviour, in_turn=in_turn)
        sketch = render(plan, MEGA)
        text = sketch.get(f"src/{header}", "")
        if sound not in text:
            assert not text, "the planted fault no longer fits the sketch"
            continue
        sketch[f"src/{header}"] = text.replace(sound, faulty, 1)
        with LogicRung(plan, sketch) as logic:
            result = agree(plan, logic, 60_000, seed)
            if result.difference is None:
                continue  # this plan has nothing that the fault touches
            assert result.trace is not None
            assert result.trace.ticks <= result.ticks
            assert result.trace.ticks == result.difference.tick + 1
            assert compare(plan, logic, result.trace) == result.difference
        return
    pytest.fail("no drawn plan showed the planted fault")
