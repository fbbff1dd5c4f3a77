"""A board as the last rung of the ladder: a trace is played to it as bench inputs, and what it says
that it did is laid against the trace.

A line takes its time over USB, so a pulse is heard a tick or a few later than it is meant to be,
and not always by as many. The board tells in which tick it heard each pulse; between two pulses its
ticks are counted from the one before. So what follows a pulse is judged from when it was heard.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_MS
from host_tools.link.errors import LinkError
from host_tools.link.identity import check_bench, check_plan
from host_tools.link.lines import AROUND_WORDS, MOST_TO_BOARD
from host_tools.link.ports import SerialPort
from host_tools.link.recording import Recording
from host_tools.link.session import Refused, Session
from host_tools.link.stream import Stream
from host_tools.link.told import TickLine, pulse_token, reading_token
from host_tools.record import Record, RungUnavailable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.link.ports import Port
    from host_tools.link.session import Event
    from host_tools.link.stream import Batch
    from host_tools.trace import Trace

TICK_S = TICK_MS / 1000

AFTER_S = 1.2
"""How long a board is heard after the last tick: until the tally behind it has come."""

TOLD_S = 0.1
"""How long the lines of the last ticks may take; a lost signal takes longer to be noticed."""


class BoardRung:
    """The board on `port`, which must run `plan` and take inputs from the bench."""

    takes_forces = False

    def __init__(self, plan: Plan, session: Session, file: str = "the ship file") -> None:
        self.name = session.port.name
        self._plan = plan
        self._session = session
        identity = session.open()
        check_plan(identity, plan, file)
        check_bench(identity)

    @classmethod
    def on_port(cls, plan: Plan, name: str) -> BoardRung:
        """The board on a port of this name. Raises LinkError."""
        port: Port = SerialPort(name)
        try:
            return cls(plan, Session(port), plan.source or "the ship file")
        except BaseException:
            port.close()
            raise

    def __enter__(self) -> BoardRung:
        return self

    def __exit__(self, *_: object) -> None:
        self._session.port.close()

    def run(self, trace: Trace) -> Record:
        """Restarts the board and plays `trace` to it.

        Raises LinkError: `receiver-heard`, `line-damaged`, `board-refused`, `port-gone`,
        `other-kept`; and RungUnavailable for a trace with forces.
        """
        if trace.has_forces:
            raise RungUnavailable("a trace's forces cannot be played to a board")
        trace = trace.without_forces()
        session = self._session
        heard = _Heard(session)
        try:
            self._start(trace.kept)
            session.ask("bench on")
        except Refused as refused:
            raise LinkError("board-refused", str(refused), board_fell_short=True) from refused
        if heard.receiver:
            raise LinkError("receiver-heard", "the board heard its receiver before the trace began")
        heard.before_bench = False
        session.keep_alive = True
        try:
            self._play(trace)
        finally:
            session.keep_alive = False
        heard.played = True
        if not self._plan.kept_bytes:
            session.run(AFTER_S)
            heard.finish()
            return self._laid_against(trace, heard)
        # What it keeps it says at its next start, which must come before it misses the signal.
        session.run(TOLD_S)
        kept = session.restart().kept
        return replace(self._laid_against(trace, heard), kept=kept)

    def _start(self, kept: bytes) -> None:
        """Restarts the board so that it finds `kept`: nothing, or what it does keep."""
        forget = not kept and self._plan.kept_bytes > 0
        found = self._session.restart(forget=forget).kept
        if found != kept:
            raise LinkError(
                "other-kept",
                f"the board has kept {found.hex() or 'nothing'}, the trace begins with "
                f"{kept.hex() or 'nothing'} kept",
            )

    def _play(self, trace: Trace) -> None:
        session = self._session
        begin = session.now()
        for tick, tokens in _by_tick(trace):
            session.run(begin + tick * TICK_S - session.now())
            for words in in_lines(tokens):
                session.tell(words)
        session.run(begin + trace.ticks * TICK_S - session.now())

    def _laid_against(self, trace: Trace, heard: _Heard) -> Record:
        if not heard.whole:
            raise LinkError(
                "line-damaged",
                f"{self.name}: lines were lost while the trace was played",
                board_fell_short=True,
            )
        sent, came = len(trace.pulses[0]), heard.recording.pulses
        if came > sent:
            raise _not_heard(sent, came)
        return answered(self._plan, trace, heard.recording)


def answered(plan: Plan, trace: Trace, recording: Recording, near_half_us: int = 0) -> Record:
    """What a board did in the ticks that answer to those of a trace that was played to it. What it
    heard afterwards is no part of it; a width that was measured may be off by so much.

    Raises LinkError (`line-damaged`) if it heard anything else.
    """
    board = recording.record(plan, "")
    ticks = _board_ticks(trace, recording, near_half_us)
    ticks = np.minimum(ticks, max(board.ticks - 1, 0))
    return Record(
        trace,
        board.lines[ticks],
        board.servos_half_us[ticks],
        board.levels[ticks],
        None,
    )


def _not_heard(sent: int, heard: int) -> LinkError:
    same = ", not the same ones" if sent == heard else ""
    return LinkError(
        "line-damaged",
        f"{sent} pulses were sent to the board and it heard {heard}{same}",
        board_fell_short=True,
    )


class _Heard:
    """What the board told since its last start."""

    def __init__(self, session: Session) -> None:
        self.before_bench = True
        self.played = self.done = False
        self._stream = Stream(self._take, self._start_anew, lambda: session.dropped)
        session.listener = self._hear
        self._start_anew()

    def _hear(self, event: Event) -> None:
        if self.before_bench and isinstance(event, TickLine) and event.pulses:
            self.receiver = True
        self._stream.hear(event)

    def _start_anew(self) -> None:
        if self.played:
            self.done = True  # what comes now is no part of it
            return
        self.recording = Recording()
        self.whole = True
        self.receiver = False

    def _take(self, batch: Batch) -> None:
        if self.done:
            return
        self.whole &= batch.whole
        for tick, line in batch.lines if self.whole else ():
            self.recording.add(tick, line)
        if self.whole:
            self.recording.lasted(batch.until)

    def finish(self) -> None:
        """No more comes."""
        self._stream.finish()


def _by_tick(trace: Trace) -> Iterator[tuple[int, list[str]]]:
    """The tokens of each tick that has any."""
    for tick, (pulses, felt) in enumerate(trace.tick_by_tick()):
        tokens = [reading_token(*one) for one in felt] + [pulse_token(*one) for one in pulses]
        if tokens:
            yield tick, tokens


def in_lines(tokens: list[str]) -> Iterator[str]:
    """`p` lines that are no longer than a board takes."""
    words = "p"
    for token in tokens:
        if len(words) + 1 + len(token) + AROUND_WORDS > MOST_TO_BOARD:
            yield words
            words = "p"
        words += f" {token}"
    if words != "p":
        yield words


def _board_ticks(trace: Trace, recording: Recording, near_half_us: int) -> NDArray[np.int64]:
    """For each tick of the trace the board's tick that answers to it."""
    sent_at, inputs, widths = trace.pulses
    count = len(sent_at)
    heard_at, heard_inputs, heard_widths = (one[:count] for one in recording.pulse_columns())
    if len(heard_at) < count:
        raise _not_heard(count, len(heard_at))
    off = np.abs(widths.astype(np.int64) - heard_widths)
    if not np.array_equal(inputs, heard_inputs) or off.max(initial=0) > near_half_us:
        raise _not_heard(count, count)
    if not len(sent_at):
        return np.arange(trace.ticks)
    # The last pulse of each tick that had one says which tick of the board's that was.
    last = np.append(sent_at[1:] != sent_at[:-1], values=True)
    anchors, answers = sent_at[last], heard_at[last]
    own = np.arange(trace.ticks)
    since = np.maximum(np.searchsorted(anchors, own, side="right") - 1, 0)
    ticks = answers[since] + own - anchors[since]
    until = np.append(answers[1:], np.iinfo(np.int64).max)[since]
    ticks = np.minimum(ticks, np.where(own >= anchors[since], until - 1, ticks))
    return np.asarray(np.maximum(ticks, 0), np.int64)
