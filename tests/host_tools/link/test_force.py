"""Forces over the link: armed first, ended by time and by silence, and part of what is compared."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from gen.load import load, load_text
from gen.plan import FORCE
from host_tools.cli.ships import starters
from host_tools.link.live import Live
from host_tools.link.recorder import Recorder
from host_tools.link.recording import Names
from host_tools.link.session import Event, Refused, Session
from host_tools.link.simulated.board import ModelBoard, bench_of
from host_tools.link.simulated.sources import switched_off, thumbs
from host_tools.link.stream import Stream
from host_tools.link.told import TickLine
from host_tools.link.watch import Watch
from tests.host_tools.link.wires import InStep

if TYPE_CHECKING:
    from gen.plan import Plan

TENDER = load(starters()["tender"]).plan
NAMES = [function.name for function in TENDER.functions]
HORN = NAMES.index("horn")
HORN_LINE = TENDER.functions[HORN].lines[0]


class Lamp:
    """Watches one line."""

    def __init__(self, line: int) -> None:
        self.line = line
        self.on = False
        self.forced: int | None = None
        self.changed_at: list[int] = []

    def hear(self, event: Event) -> None:
        if isinstance(event, TickLine):
            self.forced = event.force if event.force is not None else self.forced
            if event.lines is not None and self.on != bool(event.lines >> self.line & 1):
                self.on = not self.on
                self.changed_at.append(event.tick)


def begun() -> tuple[InStep, Session, Lamp]:
    board = ModelBoard(TENDER, lambda: switched_off(TENDER))
    port = InStep(board)
    lamp = Lamp(HORN_LINE)
    session = port.session(lamp.hear)
    session.open()
    return port, session, lamp


def test_armed_forced_and_free() -> None:
    _, session, lamp = begun()
    session.ask(f"arm {HORN}")
    session.ask(f"force {HORN} 1")
    session.run(0.05)
    assert lamp.on
    session.ask("free")
    session.run(0.05)
    assert not lamp.on
    assert lamp.forced == 0


def test_nothing_is_forced_that_was_not_armed() -> None:
    _, session, lamp = begun()
    session.ask(f"arm {HORN}")
    other = (HORN + 1) % len(NAMES)
    with pytest.raises(Refused) as refused:
        session.ask(f"force {other} 1")
    assert refused.value.reason == "arm"
    session.keep_alive = True
    session.run(5.1)
    with pytest.raises(Refused):
        session.ask(f"force {HORN} 1")
    assert not lamp.on


def test_silence_ends_it_within_half_a_second() -> None:
    port, session, lamp = begun()
    session.ask(f"arm {HORN}")
    session.ask(f"force {HORN} 1")
    silent_since = port.ticks
    session.run(2)
    begins, ends = lamp.changed_at
    assert ends - begins <= 61
    assert port.ticks - silent_since > 300
    assert not lamp.on


def test_it_ends_by_itself() -> None:
    _, session, lamp = begun()
    session.ask(f"arm {HORN}")
    session.ask(f"force {HORN} 1")
    session.keep_alive = True
    session.run(12)
    begins, ends = lamp.changed_at
    assert 1_990 <= ends - begins <= 2_000


def test_to_arm_it_again_makes_it_longer() -> None:
    _, session, lamp = begun()
    session.ask(f"arm {HORN}")
    session.ask(f"force {HORN} 1")
    session.keep_alive = True
    session.run(9)
    session.ask(f"arm {HORN}")
    session.run(9)
    assert lamp.on


def test_a_board_without_its_jumper() -> None:
    plan = load(starters()["cutter"]).plan
    assert bench_of(plan, jumper_fitted=False) == "off"
    assert bench_of(TENDER, jumper_fitted=False) == "on"
    assert bench_of(load(starters()["launch"]).plan, jumper_fitted=True) == "none"


@pytest.mark.parametrize("seed", range(3))
def test_forces_at_random_agree_and_are_recorded(seed: int) -> None:
    draw = random.Random(seed)
    live, recorder = Live(TENDER), Recorder()
    session = InStep(ModelBoard(TENDER, lambda: thumbs(TENDER, seed))).session()
    stream = Stream(live.take, live.start_anew, lambda: session.dropped)

    def hear(event: Event) -> None:
        stream.hear(event)
        recorder.stream.hear(event)

    session.listener = hear
    live.start_anew()
    live.begin(session.open().kept)
    for _ in range(25):
        function = draw.randrange(len(NAMES))
        session.ask(f"arm {function}")
        session.ask(f"force {function} {draw.randrange(len(TENDER.functions[function].forces))}")
        session.keep_alive = draw.random() < 0.8
        session.run(draw.choice((0.05, 0.5, 3)))
    session.run(1)
    assert live.difference is None
    assert not live.waits_for_start
    assert live.compared > 3_000
    (part,) = recorder.finish()
    trace = part.recording.trace(Names.of(TENDER), "")
    assert trace.sensors[-1] == FORCE
    assert trace.has_forces


def watched(name: str, state: int, lasts_s: float, plan: Plan = TENDER) -> Watch:
    watch = Watch(plan)
    session = InStep(ModelBoard(plan, lambda: switched_off(plan))).session(watch.hear)
    session.open()
    session.keep_alive = True
    function = [one.name for one in plan.functions].index(name)
    session.ask(f"arm {function}")
    session.ask(f"force {function} {state}")
    session.run(lasts_s)
    session.ask("free")
    session.run(0.1)
    return watch


def test_what_became_of_a_horn() -> None:
    watch = watched("horn", 1, 0.2)
    assert watch.reached(HORN, 1)
    assert watch.seen(HORN) == ["0.000 s on"]


def test_what_became_of_a_servo() -> None:
    rudder = NAMES.index("rudder")
    watch = watched("rudder", 2, 3)
    assert watch.reached(rudder, 2)
    assert not watch.reached(rudder, 1)


def test_what_a_condition_keeps_off() -> None:
    """The work lights are on only while the deck lights are."""
    text = (
        starters()["tender"]
        .read_text()
        .replace("drives: work relay", "drives: work relay\n    only while: deck lights")
    )
    plan = load_text(text.encode()).plan
    work = [function.name for function in plan.functions].index("work lights")
    watch = Watch(plan)
    session = InStep(ModelBoard(plan, lambda: switched_off(plan))).session(watch.hear)
    session.open()
    session.ask(f"arm {work}")
    session.ask(f"force {work} 0")
    for _ in range(2):  # and not by asking again
        with pytest.raises(Refused) as refused:
            session.ask(f"force {work} 1")
        assert refused.value.reason == "rule"
    session.run(0.1)
    assert not watch.reached(work, 1)
    session.ask(f"arm {work}")
    with pytest.raises(Refused) as refused:
        session.ask(f"force {work} 1")
    assert refused.value.reason == "rule"
