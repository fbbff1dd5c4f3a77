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
from host_tools.electrical.electrics import DrumLayer, Finding, Winch, WinchWay
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
    from host_tools.electrical.winding import Layer

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

    def found(self) -> Found:
        """Its figures and findings; only why not where the line cannot be wound at all."""
        drum = self.drum
        gearbox = self.written.usual("gearbox", self.item.gearbox, "", self.item, "none")
        rpm = drum_rpm(drum, self.written.given("motor", self.item.motor, "rpm"), gearbox)
        turns = revolutions(drum)
        if isinstance(turns, Refused):
            return Found(findings=(self._not_wound(turns),))
        run = run_s(drum, turns, rpm)
        duty = self._duty()
        made = Winch(
            name=self.name,
            speed=rpm,
            turns=turns,
            run=run,
            loose=self._loose_run(rpm),
            limit=self._limit(run),
            ways=tuple(self._ways(rpm)),
            holds=capacity(drum),
            taken=full(drum),
            layers=tuple(self._layer(layer, rpm, gearbox) for layer in wound(drum)),
            longest=duty[0] if duty else None,
            rest=duty[1] if duty else None,
            place=self.item.place,
        )
        limits = self._limits(made)
        findings = (*self._room(made), *self._kept(), *limits, *self._rests(made))
        return Found(findings=findings, winches=(made,))

    def _not_wound(self, refused: Refused) -> Finding:
        return Finding(
            code="drum-full",
            is_error=True,
            what=f"function {show(self.name)}: {refused.why}",
            got=f"{self.item.length.text} of {self.item.line.text}",
            expected="sizes of a drum and its line",
            place=self.item.line.place,
            clause=LAYERS,
        )

    def _layer(self, layer: Layer, rpm: Figure, gearbox: Given) -> DrumLayer:
        drum, item = self.drum, self.item
        force = None
        if item.torque is not None:
            torque = self.written.given("torque of the motor", item.torque, "Nm")
            passes = self.written.usual("efficiency of the gearbox", item.efficiency, "%", item)
            force = pull(drum, layer, torque, gearbox, passes)
        return DrumLayer(layer.number, travel(drum, layer), speed(drum, layer, rpm), force)

    def _ways(self, rpm: Figure) -> Iterator[WinchWay]:
        for way, limit in self.keys.limit.items.items():
            seconds = limit.value * TICK_MS / 1000
            given = self.written.number(f"limit, {way}", seconds, "s", limit.place)
            yield WinchWay(way, given, turns_in(self.drum, rpm, given))

    def _loose_run(self, rpm: Figure) -> Figure | None:
        """The run time if the line takes 30 % more room than turn beside turn."""
        drum = self.drum
        thick_m = drum.line_m.value * math.sqrt(LOOSE.value)
        thick = Given("thickness with the room it takes", thick_m, "m", LOOSE.source)
        turns = revolutions(dataclasses.replace(drum, line_m=thick))
        if isinstance(turns, Refused):
            return None
        return dataclasses.replace(run_s(drum, turns, rpm), what="run time, loosely wound")

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

    def _room(self, made: Winch) -> Iterator[Finding]:
        """Whether the line lies within its flanges, and still does when nobody lays it."""
        length, holds = self.item.length, made.holds
        over = length.value > holds.value * 1000
        if over:
            what, most, clause = "the line does not fit between the flanges", holds.value, LAYERS
        elif made.taken.value > 100:
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

    def _limits(self, made: Winch) -> Iterator[Finding]:
        """Limits that are longer than the travel. Where an end switch stops the winch before that,
        only its failing would be felt."""
        ends = self.keys.ends.items if self.keys.ends is not None else {}
        for way in made.ways:
            limit = self.keys.limit.items[way.name]
            further = way.turns.value - made.turns.value
            past_the_end = further > self.item.kept_wraps.value
            if further <= 1e-6 or (way.name in ends and not past_the_end):
                continue
            what = f"{way.name} may run {shown(further)} turns further than its travel"
            if past_the_end:
                what += ", past the end of its line"
            yield Finding(
                code="limit-past-end" if past_the_end else "limit-long",
                is_error=past_the_end and way.name not in ends,
                what=f"function {show(self.name)}: {what}",
                got=limit.text,
                expected=f"at most {made.limit.shown()}",
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

    def _rests(self, made: Winch) -> Iterator[Finding]:
        """A motor whose duty ends before its travel does."""
        written = self.keys.duty
        if written is None or made.longest is None or made.longest.value >= made.run.value:
            return
        yield Finding(
            code="duty-short",
            is_error=False,
            what=f"function {show(self.name)}: its motor must rest before the travel is done",
            got=f"{written.text}: {made.longest.shown()} at a time",
            expected=f"at least {made.run.shown()}",
            place=written.place,
            clause=made.longest.source,
        )
