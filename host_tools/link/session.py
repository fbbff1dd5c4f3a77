"""A conversation with one board: who it is, what it tells, questions and their answers.

All times are the board's: a simulated one may run many times as fast as a real one. What is waited
for takes this computer's time too, so a fast board is waited for as long as a real one.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.link.errors import LinkError
from host_tools.link.identity import Gathering
from host_tools.link.lines import MOST_FROM_BOARD, NUMBERS, Receiver, Writer
from host_tools.link.told import Answer, Tally, TickLine, Who, read_told

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.link.identity import Identity
    from host_tools.link.ports import Port

QUIET_S = 3.0
"""How long nothing is sent to a board from which nothing has been heard. Opening its port may have
started its boot loader, which takes what it hears for its own: that of a mega, once it has heard
anything, waits several seconds for more. A board that runs tells something every second."""

ASK_AGAIN_S = 0.7
WHO_S = 2.0
"""Who says so long after it was asked who it is does not answer, but has started anew."""

OPEN_S = 8.0
"""A board that was reset by opening its port spends up to two seconds in its boot loader (common
practice, no source)."""

ANSWER_S = 0.25
"""Less than a board bears of silence: while an answer is waited for, nothing else is sent, for of
several answers that wait a board tells only the last one."""

TRIES = 8
"""A question is asked again while it, or its answer, is lost."""

ALIVE_S = 0.1
"""How often a sign of life is sent while the board must not think that we are gone (300 ms)."""

POLL_S = 0.02


@dataclass(frozen=True)
class Restarted:
    """The board has started anew: what is told from here on counts from its power-up."""


Event = TickLine | Tally | Restarted


class Refused(Exception):  # noqa: N818 - named after what happened
    """The board would not; `reason` is its word for why."""

    def __init__(self, words: str, reason: str) -> None:
        super().__init__(f"the board refused '{words}': {reason}")
        self.words = words
        self.reason = reason


class Session:
    """Speaks with the board on `port`. `listener` is handed everything that it tells of its ticks,
    in order; `clock` gives this computer's seconds."""

    def __init__(
        self,
        port: Port,
        listener: Callable[[Event], None] = lambda _: None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.port = port
        self.listener = listener
        self.identity: Identity | None = None
        self.keep_alive = False
        self.speed = port.speed
        self._clock = clock
        self._receiver = Receiver(MOST_FROM_BOARD)
        self._writer = Writer()
        self._answers: dict[int, Answer] = {}
        self._gathering: Gathering | None = None
        self._asked_at: list[float] = []
        self._is_answer = False
        self._who_heard_at = 0.0
        self._answer_due = False
        self._dropped_when_asked = 0
        self._sent_at = self.now()
        self._bytes = 0
        self._understood = 0

    @property
    def dropped(self) -> int:
        """Lines from the board that were dropped here: damaged, or out of their order."""
        return self._receiver.counts.all

    @property
    def bytes_heard(self) -> int:
        """How many bytes have come from the board."""
        return self._bytes

    def now(self) -> float:
        """The board's seconds, from anywhere."""
        return self._clock() * self.speed

    def _waits(self, seconds: float) -> float:
        return seconds * max(1.0, self.speed)

    def _in(self, seconds: float) -> float:
        return self.now() + self._waits(seconds)

    def open(self, within_s: float = OPEN_S) -> Identity:
        """Waits until the board has said who it is, for `within_s` at most.

        Raises LinkError: `port-silent`, `port-babble` or `port-gone`.
        """
        until = self._in(within_s)
        self._listen_until(min(until, self._in(QUIET_S)), lambda: self._understood > 0)
        identity = self._who(until)
        if identity.is_recorder:  # or the line with its ship was lost twice
            identity = self.who()
        return identity

    def who(self) -> Identity:
        """Asks the board who it is. Raises LinkError as `open` does."""
        return self._who(self._in(OPEN_S))

    def _who(self, until: float) -> Identity:
        while self.now() < until:
            # What it says by itself at its start must not be taken for the answer.
            self._listen_until(min(until, self._in(ASK_AGAIN_S)), lambda: not self._gathering)
            self._ask_who()
            self._listen_until(until, lambda: not self._answer_due or self._who_is_silent())
            if self.identity is not None:
                return self.identity
        raise self._not_a_board()

    def restart(self, *, forget: bool = False) -> Identity:
        """Makes the board start anew and waits for that; it may `forget` what it kept over
        power-off. Raises Refused, or LinkError as `open` does."""
        words = "restart forget" if forget else "restart"
        started = _Flag()
        before, self.listener = self.listener, started.told(self.listener)
        try:
            for _ in range(TRIES):
                number = self._writer.next
                self._answers.pop(number, None)
                self.tell(words)
                self._listen_until(
                    self._in(OPEN_S / 2),
                    lambda number=number: (  # type: ignore[misc]  # bound now, on purpose
                        started.seen or bool(self._answers.get(number, _OBEYED).reason)
                    ),
                )
                answer = self._answers.get(number, _OBEYED)
                if started.seen:
                    return self.who()
                if answer.reason not in ("", "order"):
                    raise Refused(words, answer.reason)
        finally:
            self.listener = before
        raise LinkError(
            "port-silent", f"{self.port.name}: the board did not start again", board_fell_short=True
        )

    def ask(self, words: str) -> None:
        """Has the board obey, or raises Refused; asks again while lines are lost.

        Raises LinkError (`port-silent`) if it never answers.
        """
        kept_alive, self.keep_alive = self.keep_alive, False
        try:
            for _ in range(TRIES):
                answer = self._answer_to(words)
                if answer is None or answer.reason == "order":
                    continue
                if answer.reason:
                    raise Refused(words, answer.reason)
                return
        finally:
            self.keep_alive = kept_alive
        raise LinkError(
            "port-silent", f"{self.port.name}: no answer to '{words}'", board_fell_short=True
        )

    def _answer_to(self, words: str) -> Answer | None:
        number = self._writer.next
        self._answers.pop(number, None)
        self.tell(words)
        self._listen_until(self._in(ANSWER_S), lambda: number in self._answers)
        return self._answers.pop(number, None)

    def tell(self, words: str) -> None:
        """Sends a line that nobody waits for an answer to."""
        self.port.write(self._writer.line(words))
        self._sent_at = self.now()

    def run(self, seconds: float) -> None:
        """Listens for so long."""
        self._listen_until(self.now() + seconds, lambda: False)

    def poll(self, wait_s: float = POLL_S) -> None:
        """Takes what has arrived, waiting for it for `wait_s` of the board's seconds at most."""
        if self.keep_alive and self.now() - self._sent_at >= ALIVE_S:
            self.tell("here")
        data = self.port.read(max(wait_s, 0.0) / self.speed)
        self._bytes += len(data)
        for line in self._receiver.feed(data):
            told = read_told(line.words)
            if told is None:
                continue
            self._understood += 1
            if isinstance(told, Who):
                self._take_who(told)
            elif isinstance(told, Answer):
                self._answers[told.number % NUMBERS] = told
            else:
                self.listener(told)

    def _who_is_silent(self) -> bool:
        """Whether no line of the answer has come for long: a busy board says them far apart."""
        return self.now() >= self._who_heard_at + self._waits(ASK_AGAIN_S)

    def _ask_who(self) -> None:
        self.identity = None
        self._answer_due = True
        self._dropped_when_asked = self.dropped
        self._who_heard_at = self.now()
        self._asked_at.append(self.now())
        self.tell("who")

    def _listen_until(self, until: float, done: Callable[[], bool]) -> None:
        while not done():
            left = until - self.now()
            if left <= 0:
                return
            self.poll(min(left, POLL_S))

    def _take_who(self, told: Who) -> None:
        self._who_heard_at = self.now()
        if self._gathering is None:
            self._gathering = Gathering()
            self._asked_at = [at for at in self._asked_at if self.now() < at + self._waits(WHO_S)]
            self._is_answer = bool(self._asked_at)
            if self._is_answer:
                del self._asked_at[0]
            else:
                self.listener(Restarted())
        if told.key != "end":
            self._gathering.take(told.key, told.value)
            return
        identity, self._gathering = self._gathering.whole(), None
        if not self._is_answer:
            return  # the first lines after a start come out of their order: not all of it is known
        self._answer_due = False
        if self.dropped == self._dropped_when_asked:
            self.identity = identity

    def _not_a_board(self) -> LinkError:
        name = self.port.name
        if not self._bytes:
            return LinkError("port-silent", f"{name}: nothing is heard from it")
        if not self._understood:
            return LinkError(
                "port-babble",
                f"{name}: {self._bytes} bytes came, and none of them was a line of ours",
            )
        return LinkError("port-silent", f"{name}: a board is heard but does not say who it is")


_OBEYED = Answer(0)


class _Flag:
    """Remembers that the board has started anew, and hands everything on."""

    def __init__(self) -> None:
        self.seen = False

    def told(self, listener: Callable[[Event], None]) -> Callable[[Event], None]:
        def hear(event: Event) -> None:
            self.seen |= isinstance(event, Restarted)
            listener(event)

        return hear
