"""What changed in a tick, in the numbers of the plan and in the ship's words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.plan import NO_POSITION, DigitalSensor
from host_tools.bench.hearing import Hearing
from host_tools.model.stepwise import ALIVE, LOST
from host_tools.sensing import level_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.plan import Plan, Sensor
    from host_tools.bench.source import Tick
    from host_tools.model.stepwise import Looks

Row = dict[str, Any]
"""A tick's news as the page gets them; a key that is missing says that nothing is new."""

Said = tuple[int, str, str]
"""A line of the log: tick, kind, text."""

STARTED = {
    "power": "power came",
    "brown-out": "power came back after a brown-out",
    "watchdog": "started anew: the watchdog had found it hung",
    "external": "started anew by its reset pin",
    "asked": "started anew, as it was asked to",
    "file": "the ship file's new plan runs",
}


class News:
    """Compares each tick with the one before."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._hearing = Hearing(plan)
        self._was: Looks | None = None

    def row(self, tick: Tick) -> tuple[Row, list[Said]]:
        """The news of one tick; the first one's are everything."""
        looks, was = tick.looks, self._was
        self._was = looks
        row: Row = {"k": tick.k}
        said: list[Said] = []
        if tick.up:
            row["up"] = tick.up
            said.append((tick.k, "link", STARTED.get(tick.up, f"started anew: {tick.up}")))
        if tick.pulses:
            heard = self._hearing.heard(tick.pulses)
            if heard:
                row["p"] = heard
        if looks == was:
            return row, said
        row |= _apart(self._plan, looks, was)
        if was is not None:
            said += ((tick.k, kind, text) for kind, text in self._words(looks, was))
        return row, said

    def whole(self, k: int) -> Row:
        """Everything as it stands."""
        if self._was is None:
            return {"k": k}
        return {"k": k} | _apart(self._plan, self._was, None)

    def _words(self, looks: Looks, was: Looks) -> Iterator[tuple[str, str]]:
        plan = self._plan
        for channel, (now, _), (before, _) in zip(
            plan.channels, looks.channels, was.channels, strict=True
        ):
            if now != before and now in (ALIVE, LOST):
                words = "signal lost on" if now == LOST else "signal heard on"
                yield "signal", f"{words} {channel.name}"
        for control, now_at, was_at in zip(
            plan.controls, looks.controls, was.controls, strict=True
        ):
            if now_at[0] != was_at[0]:
                there = now_at[0] != NO_POSITION
                at = control.positions[now_at[0]].name if there else "is nowhere"
                yield "control", f"{control.name} {at}"
        for function, now_is, was_so in zip(
            plan.functions, looks.functions, was.functions, strict=True
        ):
            if now_is != was_so:
                words = (*function.states, "in between")[now_is]
                yield "function", f"{function.name} {words}"
        if looks.force != was.force:
            if looks.force is None:
                yield "force", "nothing is forced any more"
            else:
                forced = plan.functions[looks.force[0]]
                yield "force", f"{forced.name} is forced {forced.forces[looks.force[1]]}"


def as_shown(sensor: Sensor, reading: int) -> int:
    """A sensor's reading as the page has it, or the page's as its pin does: of a contact 1 is
    closed, whichever level that is."""
    return level_of(sensor, reading) if isinstance(sensor, DigitalSensor) else reading


def _apart(plan: Plan, now: Looks, was: Looks | None) -> Row:
    """The keys of a row for all that differs; everything where `was` is None."""
    row: Row = {}
    if was is None or now.channels != was.channels:
        row["g"] = _changed(now.channels, was and was.channels)
    if was is None or now.controls != was.controls:
        row["c"] = _changed(now.controls, was and was.controls)
    if was is None or now.functions != was.functions:
        row["f"] = _changed(now.functions, was and was.functions)
    if was is None or now.lines != was.lines:
        differ = now.lines ^ was.lines if was is not None else -1
        row["x"] = [
            (line, now.lines >> line & 1) for line in range(len(plan.lines)) if differ >> line & 1
        ]
    if was is None or now.servos_half_us != was.servos_half_us:
        row["s"] = _changed(now.servos_half_us, was and was.servos_half_us)
    if was is None or now.levels != was.levels:
        row["u"] = _changed(now.levels, was and was.levels)
    if was is None or now.readings != was.readings:
        row["r"] = [
            (index, as_shown(plan.sensors[index], reading))
            for index, reading in _changed(now.readings, was and was.readings)
        ]
    if was is None or now.force != was.force:
        row["w"] = now.force or ()
    return row


def _changed(now: Sequence[Any], was: Sequence[Any] | None) -> list[tuple[Any, ...]]:
    return [
        (index, *value) if isinstance(value, tuple) else (index, value)
        for index, value in enumerate(now)
        if was is None or value != was[index]
    ]
