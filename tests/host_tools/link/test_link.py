"""A host and a board in step: who it is, what it tells, what it obeys, and what goes wrong."""

from __future__ import annotations

import random
from functools import cache
from typing import TYPE_CHECKING

import pytest

from gen.load import load
from host_tools.cli.ships import starters
from host_tools.link.errors import LinkError
from host_tools.link.live import Live
from host_tools.link.session import Refused
from host_tools.link.simulated.board import ModelBoard
from host_tools.link.simulated.sources import at_rest, thumbs
from host_tools.link.stream import Stream
from host_tools.link.told import TickLine
from tests.host_tools.link.wires import InStep

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.link.session import Event, Session


@cache
def ship(name: str) -> Plan:
    return load(starters()[name]).plan


def board(name: str = "launch", seed: int | None = None, bench: str = "on") -> ModelBoard:
    plan = ship(name)
    return ModelBoard(
        plan, lambda: at_rest(plan) if seed is None else thumbs(plan, seed), bench=bench
    )


def live_on(session: Session, plan: Plan) -> tuple[Live, Stream]:
    live = Live(plan)
    stream = Stream(live.take, live.start_anew, lambda: session.dropped)
    session.listener = stream.hear
    return live, stream


def test_who_it_is() -> None:
    plan = ship("launch")
    session = InStep(board()).session()
    identity = session.open()
    assert (identity.ship, identity.plan_id, identity.board) == (plan.ship, plan.plan_id, "nano")
    assert identity.inputs == tuple(one.pin for one in plan.inputs)
    assert identity.bench == "on"
    assert identity.resets["power"] == 1


@pytest.mark.parametrize("name", starters())
def test_a_minute_of_thumbs_on_each_starter_agrees(name: str) -> None:
    plan = ship(name)
    session = InStep(board(name, seed=3)).session()
    live, _ = live_on(session, plan)
    live.begin(session.open().kept)
    session.run(61)
    assert live.difference is None
    assert not live.waits_for_start
    assert live.compared >= 12_000


def test_ticks_that_wrap() -> None:
    plan = ship("launch")
    session = InStep(board()).session()
    live, _ = live_on(session, plan)
    live.begin(session.open().kept)
    session.run(0x10000 * 0.005 + 20)
    assert live.difference is None
    assert live.compared > 0x10000


def test_a_board_with_another_mind_is_found_out() -> None:
    plan = ship("launch")
    other = board(seed=1)
    session = InStep(other).session()
    live, _ = live_on(session, plan)
    live.begin(session.open().kept)
    session.run(5)
    assert live.difference is None
    other._model._run.sum ^= 1  # a bit flips in its memory
    session.run(3)
    assert live.difference is not None
    assert live.difference.what == "digest"
    trace = live.trace()
    assert trace.ticks == live.difference.tick + 1


def test_a_lost_line_is_no_difference() -> None:
    plan = ship("launch")
    draw = random.Random(4)

    def spoil(data: bytes) -> bytes:
        if data and draw.random() < 0.002:
            at = draw.randrange(len(data))
            return data[:at] + bytes([data[at] ^ 1 << draw.randrange(8)]) + data[at + 1 :]
        return data

    port = InStep(board(seed=2), spoil=spoil)
    session = port.session()
    live, _ = live_on(session, plan)
    live.begin(session.open().kept)
    session.run(60)
    assert session.dropped > 0
    assert live.difference is None
    assert live.waits_for_start == "lines were lost on the way"


def test_who_joins_in_the_middle_compares_nothing_until_the_board_starts_anew() -> None:
    plan = ship("launch")
    running = board(seed=2)
    for _ in range(1_000):
        running.tick(b"")
    session = InStep(running).session()
    live, _ = live_on(session, plan)
    live.start_anew()
    live.begin(session.open().kept)
    session.run(5)
    assert live.waits_for_start == "the board had started before we listened"
    assert live.compared == 0
    live.begin(session.restart().kept)
    session.run(5)
    assert not live.waits_for_start
    assert live.compared > 500
    assert live.difference is None


def test_a_restart_begins_anew() -> None:
    plan = ship("launch")
    session = InStep(board(seed=2)).session()
    live, _ = live_on(session, plan)
    live.begin(session.open().kept)
    session.run(10)
    done = live.compared
    assert done
    live.begin(session.restart().kept)
    session.run(10)
    assert live.difference is None
    assert live.starts == 2
    assert live.compared > done + 1_000
    assert session.identity is not None
    assert session.identity.reset_cause == "asked"


def test_what_the_ship_file_forbids_is_refused() -> None:
    session = InStep(board(bench="none")).session()
    session.open()
    for words in ("bench on", "arm 0", "force 0 1", "free", "restart"):
        with pytest.raises(Refused) as refused:
            session.ask(words)
        assert refused.value.reason == "bench"


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        ("bench off", "word"),
        ("arm", "word"),
        ("arm x", "word"),
        ("arm 99", "range"),
        ("force 0 1", "arm"),
        ("force 0 99", "range"),
        ("force 99 0", "range"),
        ("p", "word"),
        ("p a1500", "bench"),
        ("sing", "word"),
    ],
)
def test_refusals(words: str, reason: str) -> None:
    session = InStep(board()).session()
    session.open()
    with pytest.raises(Refused) as refused:
        session.ask(words)
    assert refused.value.reason == reason


def test_questions_survive_a_bad_wire() -> None:
    draw = random.Random(1)

    def spoil(data: bytes) -> bytes:
        return b"" if draw.random() < 0.3 else data

    session = InStep(board(), spoil_out=spoil).session()
    session.open()
    for _ in range(10):
        session.ask("bench on")


def test_nothing_is_heard() -> None:
    session = InStep(board(), spoil=lambda _: b"").session()
    with pytest.raises(LinkError) as silent:
        session.open()
    assert silent.value.code == "port-silent"


def test_another_device() -> None:
    session = InStep(board(), spoil=lambda data: bytes(255 - one for one in data)).session()
    with pytest.raises(LinkError) as babble:
        session.open()
    assert babble.value.code == "port-babble"


def test_a_host_that_floods_the_line_is_not_lost_to_it() -> None:
    """Everything that the wire carries is answered or counted, and the next question is heard."""
    port = InStep(board())
    session = port.session()
    session.open()
    for _ in range(300):
        port.write(b"\xff" * 70)
    session.run(3)
    session.ask("bench on")


def test_bench_pulses_are_heard_instead_of_the_receiver() -> None:
    plan = ship("launch")
    told: list[Event] = []
    session = InStep(board()).session(told.append)
    session.open()
    session.ask("bench on")
    session.run(0.05)
    told.clear()
    session.tell("p a1234.5")
    session.run(0.5)
    pulses = [pulse for line in told if isinstance(line, TickLine) for pulse in line.pulses]
    assert pulses == [(0, 2469)]
    assert plan.inputs[0].channels
