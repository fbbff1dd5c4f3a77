"""A board in the bench: what it tells, with the model beside it.

What the board drives is shown as it tells it. What it remembers - where a control is believed to
be, what is left of a time - no line tells: that is shown from a model that hears the same pulses
in the same ticks, as soon as they are told. `Live` is another one, which compares only what is
known to be whole; this one is never in doubt, only sometimes a little wrong.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import TICK_MS, forced_by
from host_tools.bench.radio import Radio, next_of
from host_tools.bench.shown import merged, shown_state
from host_tools.bench.source import (
    BOARD,
    FIRMWARE,
    GONE,
    NOT_CONSENTED,
    STARTING,
    UP,
    WRONG,
    Agreement,
    Allowed,
    Link,
    Tick,
)
from host_tools.link.errors import LinkError
from host_tools.link.identity import BENCH_OFF, BENCH_ON, check_plan
from host_tools.link.live import Live
from host_tools.link.rung import in_lines
from host_tools.link.session import OPEN_S, Refused, Restarted, Session
from host_tools.link.stream import Stream
from host_tools.link.told import WRAP_TICKS, Tally, TickLine, pulse_token, reading_token
from host_tools.model.stepwise import Stepwise
from host_tools.states import show_time

if TYPE_CHECKING:
    from collections.abc import Callable

    from gen.plan import Plan
    from host_tools.bench.local_port import Pins
    from host_tools.bench.radio import Hand
    from host_tools.link.identity import Identity
    from host_tools.link.ports import Port
    from host_tools.link.session import Event
    from host_tools.model.behaviours.gauge import Gauge
    from host_tools.model.stepwise import Looks

STRAGGLE_TICKS = 20
"""How far behind the board the model is kept while nothing is told: a line may take so long."""

BACK_TICKS = 4
"""Lines come in the order of their ticks: one that lies so far back is that of a board that has
started anew."""

LOOK_AGAIN_S = 0.5
"""How often an unplugged board is looked for."""

MOST_READS = 50
"""Looks at a port in one turn, so that a flood of bytes does not keep the pages waiting."""


class OnBoard:
    """The board behind what `open_port` opens, which is to run `plan`. A port comes with the clock
    by which its board is waited for. `pins` are those of a simulated one; `file` is the ship file's
    name."""

    def __init__(
        self,
        plan: Plan,
        open_port: Callable[[], tuple[Port, Callable[[], float]]],
        clock: Callable[[], float],
        *,
        where: str,
        file: str,
        pins: Pins | None = None,
        first_k: int = 0,
    ) -> None:
        self.kind = BOARD if pins is None else FIRMWARE
        self.where = where
        self.plan = plan
        self.radio = pins.radio if pins is not None else Radio(plan)
        self.until = first_k
        self.breathe: Callable[[], None] = lambda: None
        self.link = Link(STARTING)
        self._open_port = open_port
        self._clock = self._boards_clock = clock
        self._file = file
        self._pins = pins
        self._hand: Hand = self.radio
        self._session: Session | None = None
        self._identity: Identity | None = None
        self._look_again_at = 0.0
        self._inputs = False
        self._played_at = 0.0
        self._live = Live(plan)
        self._ticks: list[Tick] = []
        self._restarted = self._gathering = False
        self._pending: list[TickLine] = []
        self._begin_model(b"", 0, "")

    # The protocol of a source

    def start(self) -> None:
        self._open()

    def turn(self) -> list[Tick]:
        try:
            self._hear_all()
        except LinkError as error:
            if error.code != "port-gone":
                raise
            self._lose(error.what, "plug it in again to go on")
        ticks, self._ticks = self._ticks, []
        return ticks

    @property
    def agreement(self) -> Agreement:
        live = self._live
        found = live.difference
        first = ""
        if found is not None:
            first = (
                f"{found.what} at tick {found.tick}, {show_time(found.tick)}: "
                f"the model has {found.model}, the board {found.rung}"
            )
        return Agreement(live.compared, live.starts, first, live.waits_for_start)

    @property
    def allowed(self) -> Allowed:
        bench = self._identity.bench if self._identity is not None else ""
        up = self.link.state == UP
        why = NOT_CONSENTED
        if bench == BENCH_OFF:
            why = "the board was started without its bench jumper: fit it and press reset"
        elif not up:
            why = "no board answers"
        on = up and bench == BENCH_ON
        worked = up and (self._pins is not None or self._inputs)
        return Allowed(
            move=worked,
            fault=worked,
            force=on,
            restart=up and (on or self._pins is not None),
            inputs=self._inputs,
            why="" if on else why,
        )

    def gauges(self, function: int) -> tuple[Gauge, ...]:
        return self._model.gauges(function)

    def restart(self, cause: str, *, forget: bool = False) -> None:
        if self._pins is not None:
            self._pins.restart(cause)
        elif self._session is not None:
            self._session.restart(forget=forget)

    def play(self, hand: Hand | None) -> None:
        if self._pins is not None:
            self._pins.hand = hand or self.radio
        self._hand = hand or self.radio

    def inputs(self, *, ours: bool) -> None:
        session = self._up()
        if not ours:
            session.restart()
            return
        self._settle(session)
        session.ask("bench on")
        session.keep_alive = self._inputs = True
        self._played_at = session.now()

    def arm(self, function: int) -> str:
        return self._asked(f"arm {function}")

    def force(self, function: int, state: int) -> str:
        return self._asked(f"force {function} {state}")

    def here(self) -> None:
        if self._session is not None:
            self._session.tell("here")

    def free(self) -> None:
        if self._session is not None and self.link.state == UP:
            self._asked("free")

    def close(self) -> None:
        if self._session is not None:
            self._session.port.close()
            self._session = None

    def _asked(self, words: str) -> str:
        try:
            self._up().ask(words)
        except Refused as refused:
            return refused.reason
        return ""

    def _up(self) -> Session:
        if self._session is None or self.link.state != UP:
            raise LinkError("port-gone", f"{self.where} is gone", board_fell_short=True)
        return self._session

    # Plugging in and out

    def _open(self) -> None:
        self._inputs = False
        self._gathering, self._restarted, self._pending = True, False, []
        self._stream = Stream(self._live.take, self._live.start_anew)
        self._live.start_anew()
        port, self._boards_clock = self._open_port()
        session = Session(_Breathing(port, self), self._hear, self._boards_clock)
        self._session = session
        self._stream.dropped_here = lambda: session.dropped
        try:
            identity = session.open(OPEN_S)
        except LinkError as error:
            self._lose(error.what, error.hint)
            return
        self._identity = identity
        try:
            check_plan(identity, self.plan, self._file)
        except LinkError as error:
            self.link = Link(WRONG, error.what, identity.plan_id, identity.ship)
            return
        self.link = Link(UP, "", identity.plan_id, identity.ship)
        self._restarted = False
        self._begin(identity)

    def _lose(self, why: str, hint: str) -> None:
        self.close()
        self._stream.finish()
        self._inputs = False
        self.link = Link(GONE, f"{why}: {hint}")
        self._look_again_at = self._clock() + LOOK_AGAIN_S

    def _look_again(self) -> None:
        if self._clock() < self._look_again_at:
            return
        self._look_again_at = self._clock() + LOOK_AGAIN_S
        try:
            self._open()
        except LinkError as error:
            self.close()
            self.link = Link(GONE, error.what)

    # What it tells

    def _hear_all(self) -> None:
        if self._session is None:
            if self.link.state == GONE:
                self._look_again()
            return
        session = self._session
        for _ in range(MOST_READS):
            before = session.bytes_heard
            session.poll(0.0)
            if session.bytes_heard == before:
                break
        if self.link.state != UP:
            return
        self._settle(session)
        if not self._gathering:
            self._go_on()
        if self._inputs:
            self._work(session)

    def _settle(self, session: Session) -> None:
        """After a restart the board is asked who it is now."""
        if self._restarted:
            self._restarted = False
            session.keep_alive = self._inputs = False
            self._identity = session.who()
            self._begin(self._identity)

    def _hear(self, event: Event) -> None:
        """The session's listener."""
        self._stream.hear(event)
        if isinstance(event, Restarted):
            self._restarted = self._gathering = True
        elif isinstance(event, Tally):
            if not self._gathering:
                self._at, self._heard_at = event.tick, self._boards_clock()
        elif self._gathering:
            self._pending.append(event)
        elif _signed(event.tick - self._at) < -BACK_TICKS:
            # Its first ticks come before it says who it is.
            self._gathering, self._pending = True, [event]
        else:
            self._take(event)

    def _begin(self, identity: Identity) -> None:
        """It is known who it is, and what it found at power-up."""
        self._live.begin(identity.kept)
        pending, self._pending, self._gathering = self._pending, [], False
        ticks = [line.tick for line in pending]
        if 0 in ticks:
            first = len(ticks) - 1 - ticks[::-1].index(0)
            first = ticks.index(0, max(0, first - 2))  # a tick may have several lines
            pending = pending[first:]
        begins = pending[0].tick if pending else 0
        self._begin_model(identity.kept, begins, identity.reset_cause or "unknown")
        for line in pending:
            self._take(line)

    def _begin_model(self, kept: bytes, begins: int, up: str) -> None:
        self.found = kept
        self._model = Stepwise(self.plan, kept)
        self._base_k = self.until
        self._first = self._at = begins
        self._heard_at = self._boards_clock()
        self._up_cause = up
        self._lines: int | None = None
        self._servos: dict[int, int] = {}
        self._levels: dict[int, int] = {}
        self._readings: dict[int, int] = {}
        self._force = 0
        self._late: list[tuple[int, int]] = []

    def _take(self, line: TickLine) -> None:
        self._at += _signed(line.tick - self._at)
        self._heard_at = self._boards_clock()
        self._run_to(self._at)
        if line.lines is not None:
            self._lines = line.lines
        self._servos.update(line.servos_half_us)
        self._levels.update(line.levels)
        self._readings.update(line.readings)
        if line.force is not None:
            self._force = line.force
        readings = list(line.readings.items())
        given = list(readings)
        if line.force is not None:
            given.append((len(self.plan.sensors), line.force))
        pulses = list(line.pulses)
        if self._at < self._model.now + self._first:
            # The second line of a tick, or one that took long: it is heard in the next tick.
            self._late += pulses
            self._ticks.append(Tick(self.until - 1, pulses, readings, self._looks()))
            return
        self._model.tick([*self._late, *pulses], given)
        self._late = []
        self._note(pulses, readings)

    def _go_on(self) -> None:
        """Lets the model go on while nothing is told."""
        session = self._session
        speed = session.speed if session is not None else 1.0
        since = (self._boards_clock() - self._heard_at) * speed * 1000 / TICK_MS
        self._run_to(self._at + int(since) - STRAGGLE_TICKS)

    def _run_to(self, tick: int) -> None:
        while self._model.now + self._first < tick:
            self._model.tick(self._late)
            self._late = []
            self._note([], [])

    def _note(self, pulses: list[tuple[int, int]], readings: list[tuple[int, int]]) -> None:
        self.until = self._base_k + self._model.now
        self._ticks.append(Tick(self.until - 1, pulses, readings, self._looks(), self._up_cause))
        self._up_cause = ""

    def _looks(self) -> Looks:
        """The model's, with what the board has told in place of what the model would drive."""
        looks = self._model.looks()
        if self._lines is None:
            return looks
        servos = merged(self._servos, looks.servos_half_us)
        levels = merged(self._levels, looks.levels)
        lines = self._lines
        return looks._replace(
            lines=lines,
            servos_half_us=servos,
            levels=levels,
            readings=merged(self._readings, looks.readings),
            force=forced_by(self._force),
            functions=tuple(
                [
                    shown_state(
                        self.plan,
                        function,
                        modelled,
                        lines=lines,
                        servos_half_us=servos,
                        levels=levels,
                    )
                    for function, modelled in zip(self.plan.functions, looks.functions, strict=True)
                ]
            ),
        )

    def _work(self, session: Session) -> None:
        """Sends what the hand does in the ticks that are due."""
        while self._played_at <= session.now():
            self._played_at += TICK_MS / 1000
            self._hand, (pulses, felt) = next_of(self._hand, self.radio)
            tokens = [reading_token(*one) for one in felt] + [pulse_token(*one) for one in pulses]
            for words in in_lines(tokens):
                session.tell(words)


class _Breathing:
    """A port that lets others have a turn while the board behind it is only being looked for."""

    def __init__(self, port: Port, source: OnBoard) -> None:
        self.name = port.name
        self.speed = port.speed
        self.write = port.write
        self.close = port.close
        self._read = port.read
        self._source = source

    def read(self, wait_s: float) -> bytes:
        if self._source.link.state != UP:
            self._source.breathe()
        return self._read(wait_s)


def _signed(difference: int) -> int:
    return (difference + WRAP_TICKS // 2) % WRAP_TICKS - WRAP_TICKS // 2
