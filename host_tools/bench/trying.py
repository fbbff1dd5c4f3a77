"""A trial that is run while one watches: the ship starts anew, its thumbs are played in real time,
and it is judged at its end as anywhere else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.read.steps import Wait
from host_tools.bench.asked import Not
from host_tools.bench.source import BOARD, FIRMWARE, MODEL
from host_tools.firmware.pulses import TOLERANCE_HALF_US
from host_tools.link.errors import LinkError
from host_tools.link.recording import Recording
from host_tools.link.rung import answered
from host_tools.trial import judge, script

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from host_tools.bench.asked import Asked, Json
    from host_tools.bench.radio import Comes
    from host_tools.bench.seen import Entry
    from host_tools.bench.source import Source
    from host_tools.opened import OpenedShip
    from host_tools.trial import Failure, Script

AFTER_TICKS = 60
"""How long a board is heard after the last tick: until its last lines have come."""

MOST_LATE_TICKS = 2_000
"""A board that has not heard everything by then does not hear us."""


class Trying:
    """One trial at a time. `say` takes words for the log; `rests` lets everything go first."""

    def __init__(
        self,
        opened: OpenedShip,
        source: Source,
        say: Callable[[str, str], None],
        rests: Callable[[], None],
    ) -> None:
        self.opened = opened
        self._source = source
        self._say = say
        self._rests = rests
        self._script: Script | None = None
        self._recording = Recording()
        self._waits_for_start = False
        self._over = False
        self._told = 0
        self._failures: list[str] = []

    def commands(self) -> dict[str, Callable[[object, Asked], Json]]:
        """What a page can ask for."""
        return {"trial": self.trial}

    @property
    def runs(self) -> bool:
        """Whether one is under way."""
        return self._script is not None and not self._over

    def trial(self, _: object, asked: Asked) -> Json:
        """Starts the ship anew, and begins."""
        name = asked.text("name", 1_000)
        sure = asked.flag("sure", usual=False)
        asked.finish()
        trial = next((one for one in self.opened.trials if one.name == name), None)
        if trial is None:
            raise Not("bad", "the ship file has no such trial")
        scripted = script(self.opened.plan, trial)
        self._may(scripted, sure=sure)
        self._rests()
        self.stop()
        self._script, self._over, self._waits_for_start = scripted, False, True
        self._told, self._failures = 0, []
        self._recording = Recording()
        source = self._source
        hand = _Playing(scripted, lambda: source.restart("power"))
        if source.kind == BOARD:
            source.restart("asked", forget=bool(self.opened.plan.kept_bytes))
            source.inputs(ours=True)
            source.play(hand)
        else:
            source.play(hand)
            source.restart("power", forget=True)
        self._say("trial", f"trial '{name}' begins")
        return {}

    def see(self, entry: Entry | None, *, up: bool, k: int) -> None:
        """One tick of the ship."""
        if not self.runs or self._script is None:
            return
        if self._waits_for_start:
            if not up:
                return
            self._waits_for_start = False
            self._recording = Recording(k)
        if entry is not None:
            self._recording.add(entry.k, entry.line)
        self._recording.lasted(k + 1)
        self._tell_steps(self._script)
        if self._is_done(self._script):
            self._finish(self._script)

    def stop(self) -> None:
        """Ends it without a verdict."""
        if self.runs:
            self._over = True
            self._source.play(None)
            self._say("trial", "the trial was stopped")

    def state(self) -> Json | None:
        """How far it is, and what came of it."""
        if self._script is None:
            return None
        ticks = self._script.trace.ticks
        judged = self._over and self._recording.ticks >= ticks
        return {
            "name": self._script.trial.name,
            "step": max(0, self._told - 1),
            "steps": len(self._script.trial.steps),
            # Told in tenths of a second: the page counts on by itself.
            "tick": min(self._recording.ticks // 20 * 20, ticks),
            "ticks": ticks,
            "over": self._over,
            "passed": not self._failures if judged else None,
            "failures": self._failures,
        }

    def _may(self, scripted: Script, *, sure: bool) -> None:
        source = self._source
        if scripted.cuts and source.kind != MODEL:
            raise Not("not-now", "this trial cuts the power, which only the simulated model bears")
        if source.kind == BOARD:
            if not source.allowed.force:
                raise Not("not-now", source.allowed.why)
            movers = [one.name for one in source.plan.functions if one.moves]
            if movers and not sure:
                raise Not(
                    "sure",
                    f"the trial moves {', '.join(movers)}: receiver off, couplings apart, hands, "
                    "hair and cables clear, the main switch in reach",
                )
        elif not source.allowed.move:
            raise Not("not-now", source.allowed.why)

    def _tell_steps(self, scripted: Script) -> None:
        events = scripted.events
        while self._told < len(events) and events[self._told].tick < self._recording.ticks:
            step = events[self._told].step
            self._told += 1
            if not isinstance(step, Wait):
                self._say("trial", step.text)

    def _is_done(self, scripted: Script) -> bool:
        ticks = scripted.trace.ticks
        if self._source.kind == MODEL:
            return self._recording.ticks >= ticks
        heard = self._recording.pulses >= len(scripted.trace.pulses[0])
        late = self._recording.ticks - ticks
        return (heard and late >= AFTER_TICKS) or late > MOST_LATE_TICKS

    def _finish(self, scripted: Script) -> None:
        self._over = True
        plan = self.opened.plan
        near = TOLERANCE_HALF_US if self._source.kind == FIRMWARE else 0
        try:
            record = answered(plan, scripted.trace, self._recording, near_half_us=near)
        except LinkError as error:
            self._failures = [f"{error.what}: nothing can be said of the trial"]
        else:
            self._failures = [self._words(one) for one in judge(plan, scripted, record)]
        verdict = (
            f"fell short of {len(self._failures)} expectations" if self._failures else "passed"
        )
        self._say("trial", f"trial '{scripted.trial.name}' {verdict}")

    def _words(self, failure: Failure) -> str:
        return failure.told(self.opened.path.name)


class _Playing:
    """Plays a trial's pulses; at its cuts the power goes."""

    def __init__(self, scripted: Script, cut: Callable[[], None]) -> None:
        self._cuts = frozenset(scripted.cuts)
        self._cut = cut
        self._tick = 0
        self._ticks: Iterator[Comes] = scripted.trace.tick_by_tick()

    def next(self) -> Comes | None:
        if self._tick in self._cuts:
            self._cut()
        self._tick += 1
        return next(self._ticks, None)
