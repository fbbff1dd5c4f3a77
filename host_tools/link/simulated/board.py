"""A board that runs the model: the whole of its side of the link, tick by tick."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from gen import __version__
from gen.plan import TICK_MS
from host_tools.link.identity import BENCH_NONE, BENCH_OFF, BENCH_ON
from host_tools.link.lines import MOST_FROM_BOARD, MOST_TO_BOARD, Receiver
from host_tools.link.simulated.bench import Bench
from host_tools.link.simulated.sources import by_tick
from host_tools.link.simulated.wire import Incoming, Outgoing
from host_tools.link.told import Tally, TickLine, tally_words, tick_words, who_words
from host_tools.model.stepwise import Stepwise

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from gen.plan import Plan
    from host_tools.model.stepwise import Driven
    from host_tools.trace import Trace

PATIENT_TICKS = 8
"""How long what is not urgent waits at most on a busy wire."""

TALLY_TICKS = 1_000 // TICK_MS
AROUND_TICK_LINE = 8
"""What number, CRC and the spaces beside them take of a line."""

Pulse = tuple[int, int]


class SimulatedBoard(Protocol):
    """A board at the end of a wire."""

    def power_up(self, cause: str) -> None:
        """Starts anew."""
        ...

    def wants(self) -> int:
        """How many bytes it can be handed now."""
        ...

    def tick(self, data: bytes) -> bytes:
        """Runs one tick, in which `data` comes down the wire, and gives what it sends."""
        ...

    def close(self) -> None:
        """Ends it."""
        ...


class ModelBoard:
    """`receives` is called at each power-up for what then comes to its pins; `bench` is what the
    board says of its bench."""

    def __init__(
        self,
        plan: Plan,
        receives: Callable[[], Iterable[Trace]],
        *,
        bench: str = BENCH_ON,
    ) -> None:
        self.plan = plan
        self.now = 0
        self._receives = receives
        self._bench_allowed = bench
        self._kept = b""
        self._resets: dict[str, int] = {}
        self._incoming = Incoming()
        self._line_bytes = max(1, (len(plan.lines) + 7) // 8)
        self.power_up("power")

    def power_up(self, cause: str) -> None:
        if cause == "power":
            self._resets = {}
        self._resets[cause] = self._resets.get(cause, 0) + 1
        self._cause = cause
        self.now = 0
        self._model = Stepwise(self.plan, self._kept)
        self._found = self._kept
        self._receiving = by_tick(self._receives())
        self._bench = Bench(self.plan, self._bench_allowed)
        self._receiver = Receiver(MOST_TO_BOARD)
        self._outgoing = Outgoing()
        self._answer = ""
        self._tally_is_due = False
        self._who: list[str] = []
        self._told: TickLine | None = None
        self._felt = dict.fromkeys(range(len(self.plan.sensors)), 0)
        self._readings: dict[int, int] = dict(self._felt)
        self._say_who()
        # The first line after a start is out of order for who was listening before: it must be
        # one that can be spared.
        self._outgoing.put(self._who.pop(0))

    def close(self) -> None:
        """Nothing has to be tidied up."""

    def wants(self) -> int:
        return self._incoming.wants

    def tick(self, data: bytes) -> bytes:
        self._incoming.put(data)
        for line, in_order in self._receiver.judged(self._incoming.arrives()):
            self._obey(line.number, line.words, in_order=in_order)
        if self._bench.restart_asked:
            self._kept = b"" if self._bench.forget_asked else self._model.kept
            self.power_up("asked")
            return b""
        pulses, readings = self._inputs()
        felt = _changed(readings, self._readings)
        self._readings = readings
        force = self._bench.force
        if self.plan.bench is not None:
            felt[len(self.plan.sensors)] = force
        driven = self._model.tick(pulses, felt.items())
        answer = self._bench.end_tick(self.now, force_is_barred=driven.force_is_barred)
        if answer is not None:
            self._answer_is(*answer)
        self._kept = self._model.kept
        self._tell(tuple(pulses), force, driven)
        self.now += 1
        self._tally_is_due |= self.now % TALLY_TICKS == 0
        if self._outgoing.is_calm or self.now % PATIENT_TICKS == 0:
            self._say_something()
        return self._outgoing.leaves()

    def _say_something(self) -> None:
        """What is not urgent: an answer, then the tally, then who it is."""
        if self._answer:
            self._outgoing.put(self._answer)
            self._answer = ""
        elif self._tally_is_due:
            self._outgoing.put(tally_words(self._tally()))
            self._tally_is_due = False
        elif self._who:
            self._outgoing.put(self._who.pop(0))

    def _inputs(self) -> tuple[list[Pulse], dict[int, int]]:
        received, felt = self._receiving()
        if self._bench.inputs_are_ours:  # the sensors stand as they were
            return self._bench.pulses(), self._felt | self._bench.readings
        self._felt.update(felt)
        return list(received), dict(self._felt)

    def _obey(self, number: int, words: str, *, in_order: bool) -> None:
        self._bench.hear(self.now)
        reason: str | None = ""
        if not in_order:
            reason = "order"
        elif words == "who":
            self._say_who()
        else:
            reason = self._bench.obey(number, words, self.now)
        if reason is not None:
            self._answer_is(number, reason)

    def _answer_is(self, number: int, reason: str) -> None:
        # Of several answers that wait the last one is told, but no "no" gives way to an "ok".
        if reason or not self._answer.startswith("no"):
            self._answer = f"no {number:02X} {reason}" if reason else f"ok {number:02X}"

    def _say_who(self) -> None:
        plan = self.plan
        counts = " ".join(
            f"{cause}={self._resets.get(cause, 0)}"
            for cause in ("power", "brown-out", "watchdog", "external", "asked")
        )
        keys = [
            ("ship", plan.ship),
            ("plan", plan.plan_id),
            ("board", plan.board),
            ("maker", __version__),
            ("size", "model"),
            ("reset", f"cause={self._cause} {counts}"),
            *(("input", f"{chr(ord('a') + i)} {one.pin}") for i, one in enumerate(plan.inputs)),
            ("bench", self._bench_allowed),
        ]
        if plan.kept_bytes:
            keys.append(("kept", self._found.hex().upper()))
        self._who = who_words(keys)

    def _tally(self) -> Tally:
        counts = self._receiver.counts
        return Tally(self.now, bad=counts.all, dropped=self._outgoing.dropped)

    def _tell(self, pulses: tuple[Pulse, ...], force: int, driven: Driven) -> None:
        """Says what is new in this tick, if anything is, in as many lines as it takes."""
        now_is = TickLine(
            self.now,
            driven.digest,
            pulses,
            dict(self._readings),
            driven.lines,
            dict(enumerate(driven.servos_half_us)),
            dict(enumerate(driven.levels)),
            force if self._bench_allowed != BENCH_NONE else None,
        )
        if self._told is not None and not self._outgoing.is_calm:
            # Servos that move change in each tick: they wait for room.
            now_is = replace(
                now_is, servos_half_us=self._told.servos_half_us, levels=self._told.levels
            )
        new = _news(now_is, self._told)
        if new is None:
            return
        pieces = _in_pieces(new, self._line_bytes)
        sent = [self._outgoing.put(words) for words in pieces]
        self._told = replace(now_is, pulses=()) if all(sent) else None


def bench_of(plan: Plan, *, jumper_fitted: bool) -> str:
    """What a board with this plan says of its bench."""
    if plan.bench is None:
        return BENCH_NONE
    return BENCH_ON if jumper_fitted or not plan.bench.jumper else BENCH_OFF


def _news(now_is: TickLine, told: TickLine | None) -> TickLine | None:
    """What of a tick was not told before; None if there is nothing."""
    if told is None:
        return now_is
    new = replace(
        now_is,
        readings=_changed(now_is.readings, told.readings),
        lines=now_is.lines if now_is.lines != told.lines else None,
        servos_half_us=_changed(now_is.servos_half_us, told.servos_half_us),
        levels=_changed(now_is.levels, told.levels),
        force=now_is.force if now_is.force != told.force else None,
    )
    anything = new.pulses or new.readings or new.servos_half_us or new.levels
    return new if anything or new.lines is not None or new.force is not None else None


def _changed(now_is: Mapping[int, int], told: Mapping[int, int]) -> dict[int, int]:
    return {key: value for key, value in now_is.items() if told.get(key) != value}


def _in_pieces(line: TickLine, line_bytes: int) -> list[str]:
    """A tick's line or, where one cannot hold it all, several with the same tick and digest."""
    words = tick_words(line, line_bytes)
    if len(words) + AROUND_TICK_LINE <= MOST_FROM_BOARD:
        return [words]
    head, *tokens, digest = words.removeprefix("t ").split(" ")
    pieces, room = [], MOST_FROM_BOARD - AROUND_TICK_LINE
    piece = f"t {head}"
    for token in tokens:
        if len(piece) + len(token) + len(digest) + 2 > room:
            pieces.append(f"{piece} {digest}")
            piece = f"t {head}"
        piece += f" {token}"
    return [*pieces, f"{piece} {digest}"]
