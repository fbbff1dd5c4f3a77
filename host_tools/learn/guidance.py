"""What a person is asked to do while a radio is recorded, step by step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.plan import TICK_MS
from host_tools.learn.recording import CannotLearn
from host_tools.learn.steps import MOVE, OFF, STILL, Step
from host_tools.link.recorder import Recorder
from host_tools.link.told import TickLine

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from host_tools.link.session import Event, Session

READ_S = 3.0
"""So long a step stands there before it begins."""

STILL_S, MOVE_S, ALL_S, OFF_S = 6.0, 10.0, 40.0, 8.0
LOOK_S = 0.5
TICKS_A_SECOND = 1000 // TICK_MS


@dataclass(frozen=True)
class Asked:
    """One thing to do, for so many seconds; `what` is a step's, "" for what no step is made of."""

    what: str
    words: str
    seconds: float
    name: str = ""


def asked(names: Sequence[str]) -> tuple[Asked, ...]:
    """All that is asked for; `names` are the controls to move one by one, in this order."""
    moves = [
        Asked(
            MOVE,
            f"now move '{name}' to each of its ends twice, slowly if it has anything between, and "
            "let go for a second each time; touch nothing else",
            MOVE_S,
            name,
        )
        for name in names
    ] or [
        Asked(
            "",
            "now move every key, switch, stick and knob, one after the other, to each of its ends "
            "twice, and let go for a second each time",
            ALL_S,
        )
    ]
    return (
        Asked(STILL, "hold everything still", STILL_S),
        *moves,
        Asked(OFF, "now switch the transmitter off, and leave it off", OFF_S),
    )


class Listener:
    """Hands what a board tells to a recorder, from `begin` on; `first_s` is when it first told of a
    pulse, which is the recording's first tick."""

    def __init__(self) -> None:
        self.recorder = Recorder()
        self.first_s: float | None = None
        self._session: Session | None = None

    def begin(self, session: Session) -> None:
        """What comes from now on counts."""
        self._session = session
        self.recorder.stream.dropped_here = lambda: session.dropped

    def hear(self, event: Event) -> None:
        """The session's listener."""
        if self._session is None:
            return
        if self.first_s is None and isinstance(event, TickLine):
            self.first_s = self._session.now()
        self.recorder.stream.hear(event)


def guide(
    session: Session,
    listener: Listener,
    todo: Sequence[Asked],
    say: Callable[[str], None],
    progress: Callable[[str], None],
) -> list[Step]:
    """Has a person do all of it while the listener records. Steps count from the recording's first
    tick. Raises CannotLearn: `learn-nothing` if no pulse comes, `learn-contradicts` where the board
    starts anew meanwhile; LinkError as the session does."""
    listener.begin(session)
    _wait(session, READ_S, "listening for", progress)
    if listener.first_s is None:
        raise CannotLearn(
            "learn-nothing",
            "no pulse is heard",
            "switch the transmitter and the receiver on, and see that the receiver's signal wires "
            "are on the board's pins",
        )
    steps = []
    for number, one in enumerate(todo, 1):
        say(f"step {number} of {len(todo)}: {one.words}")
        _wait(session, READ_S, "it begins in", progress)
        begin = session.now() - listener.first_s
        _wait(session, one.seconds, "go on for", progress)
        end = session.now() - listener.first_s
        if one.what:
            ticks = (round(begin * TICKS_A_SECOND), round(end * TICKS_A_SECOND))
            steps.append(Step(one.what, *ticks, one.name))
        if listener.recorder.parts:
            raise CannotLearn(
                "learn-contradicts",
                "the board started anew while it was recording",
                "see that its power and its plugs are firm, and record again",
            )
    return steps


def _wait(session: Session, seconds: float, words: str, progress: Callable[[str], None]) -> None:
    until = session.now() + seconds
    while (left := until - session.now()) > 0:
        progress(f"{words} {left:.0f} s")
        session.run(min(LOOK_S, left))
