"""The winches of a ship: run times and pull from their drums, and whether the limits fit them."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.behaviours.winch import WinchKeys
from gen.diagnostics import show
from gen.plan import TICK_MS
from host_tools.electrical.duty import longest_run_s, rest_s
from host_tools.electrical.electrics import Finding
from host_tools.electrical.figure import Figure, Given, Refused, shown
from host_tools.electrical.found import Found, together
from host_tools.electrical.winding import (
    LAYERS,
    LOOSE,
    Drum,
    capacity,
    drum_rpm,
    full,
    pull,
    revolutions,
    run_s,
    speed,
    travel,
    turns_in,
    wound,
)
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.electric import DrumItem
    from gen.ship import Ship

LEAST_KEPT = 3
KEPT_CLAUSE = "winch manuals: at least three turns stay on the drum"


def winches(ship: Ship, file: str) -> Found:
    """What is to be said of every winch of a ship whose drum is described; `file` is the ship
    file's name."""
    return together(
        _Winch(keys, keys.drum, Written(file)).found()
        for keys in ship.functions
        if isinstance(keys, WinchKeys) and keys.drum is not None
    )


@dataclass(frozen=True)
class _Winch:
    """One winch and its drum."""

    keys: WinchKeys
    item: DrumItem
    written: Written

    @property
    def name(self) -> str:
        return self.keys.name.value

    @property
    def drum(self) -> Drum:
        given, item = self.written.given, self.item
        kept = self.written.usual("kept turns", item.kept_wraps, "", item, KEPT_CLAUSE)
        return Drum(
            self.name,
            barrel_m=given("diameter of the drum", item.diameter, "m"),
            width_m=given("width of the drum", item.width, "m"),
            flange_m=given("diameter of its flanges", item.flange, "m"),
            line_m=given("thickness of the line", item.line, "m"),
            length_m=given("travel", item.length, "m"),
            kept=kept,
        )

    @property
    def _passes(self) -> Given:
        item = self.item
        return self.written.usual("efficiency of the gearbox", item.efficiency, "%", item)

    def found(self) -> Found:
        """Its figures and findings; nothing where the drum cannot be wound at all, which the
        reader has complained about."""
        drum = self.drum
        gearbox = self.written.usual("gearbox", self.item.gearbox, "", self.item, "none")
        rpm = drum_rpm(drum, self.written.given("motor", self.item.motor, "rpm"), gearbox)
        turns, run = revolutions(drum), run_s(drum, rpm)
        if isinstance(turns, Refused) or isinstance(run, Refused):
            return Found()
        figures = [rpm, capacity(drum), full(drum), run, *self._loose_run(rpm), self._limit(run)]
        for layer in wound(drum):
            figures += [travel(drum, layer), speed(drum, layer, rpm)]
            if self.item.torque is not None:
                torque = self.written.given("torque of the motor", self.item.torque, "Nm")
                figures.append(pull(drum, layer, torque, gearbox, self._passes))
        duty = self._duty()
        limits = self._limits(rpm, turns, run)
        findings = (*self._room(), *self._kept(), *limits, *self._rests(run, duty))
        figures += duty
        return Found(tuple(figures), findings=findings)

    def _loose_run(self, rpm: Figure) -> Iterator[Figure]:
        """The run time if the line takes 30 % more room than turn beside turn, as far as even one
        such turn lies on the drum."""
        drum = self.drum
        thick_m = drum.line_m.value * math.sqrt(LOOSE.value)
        thick = Given("thickness with the room it takes", thick_m, "m", LOOSE.source)
        time = run_s(dataclasses.replace(drum, line_m=thick), rpm)
        if isinstance(time, Figure):
            yield dataclasses.replace(time, what="run time, loosely wound")

    def _limit(self, run: Figure) -> Figure:
        """The limit to write, each way: the run time in whole tenths of a second, never above."""
        tenths = math.floor(run.value * 10 + 1e-6)
        return Figure(
            self.name,
            "proposed limit each way",
            max(tenths / 10, TICK_MS / 1000),
            "s",
            "run time, rounded down to tenths",
            (run,),
            "the longest run that ends within the travel; try it on the bench, load and all",
        )

    def _room(self) -> Iterator[Finding]:
        """Whether the line lies within its flanges, and still does when nobody lays it."""
        length, holds = self.item.length, capacity(self.drum)
        over = length.value > holds.value * 1000
        loose = full(self.drum)
        if over:
            what, most, clause = "the line does not fit between the flanges", holds.value, LAYERS
        elif loose.value > 100:
            what = "the line fits between the flanges only if it is laid turn by turn"
            most, clause = holds.value / LOOSE.value, LOOSE.source
        else:
            return
        yield Finding(
            code="drum-full",
            is_error=over,
            what=f"function {show(self.name)}: {what}",
            got=length.text,
            expected=f"at most {shown(most, 'm')}",
            place=length.place,
            clause=clause,
        )

    def _kept(self) -> Iterator[Finding]:
        kept = self.item.kept_wraps
        if kept.value < LEAST_KEPT:
            what = "at the end of its travel the line's knot bears the load"
            yield Finding(
                code="few-wraps",
                is_error=False,
                what=f"function {show(self.name)}: {what}",
                got=kept.text,
                expected=f"at least {LEAST_KEPT} kept wraps",
                place=kept.place,
                clause=KEPT_CLAUSE,
            )

    def _limits(self, rpm: Figure, turns: Figure, run: Figure) -> Iterator[Finding]:
        """Limits that are longer than the travel. Where an end switch stops the winch before that,
        only its failing would be felt."""
        drum = self.drum
        ends = self.keys.ends.items if self.keys.ends is not None else {}
        for way, limit in self.keys.limit.items.items():
            seconds = limit.value * TICK_MS / 1000
            written = self.written.number(f"limit, {way}", seconds, "s", limit.place)
            further = turns_in(drum, rpm, written).value - turns.value
            past_the_end = further > drum.kept.value
            if further <= 1e-6 or (way in ends and not past_the_end):
                continue
            what = f"{way} may run {shown(further)} turns further than its travel"
            if past_the_end:
                what += ", past the end of its line"
            yield Finding(
                code="limit-past-end" if past_the_end else "limit-long",
                is_error=past_the_end and way not in ends,
                what=f"function {show(self.name)}: {what}",
                got=limit.text,
                expected=f"at most {self._limit(run).shown()}",
                place=limit.place,
                clause=LAYERS,
            )

    def _duty(self) -> tuple[Figure, ...]:
        """How long its motor may run at a time and how long it rests then; empty if nobody says."""
        duty = self.keys.duty
        if duty is None:
            return ()
        percent, cycle_ticks = duty.value
        factor = self.written.number("duration factor", percent, "%", duty.place)
        cycle = self.written.number("cycle", cycle_ticks * TICK_MS / 1000, "s", duty.place)
        longest = longest_run_s(self.name, factor, cycle)
        return longest, rest_s(self.name, longest, factor)

    def _rests(self, run: Figure, duty: tuple[Figure, ...]) -> Iterator[Finding]:
        """A motor whose duty ends before its travel does."""
        written = self.keys.duty
        if written is None or duty[0].value >= run.value:
            return
        yield Finding(
            code="duty-short",
            is_error=False,
            what=f"function {show(self.name)}: its motor must rest before the travel is done",
            got=f"{written.text}: {duty[0].shown()} at a time",
            expected=f"at least {run.shown()}",
            place=written.place,
            clause=duty[0].source,
        )
