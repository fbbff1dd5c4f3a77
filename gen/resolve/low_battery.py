"""The stages in which a battery that runs down does without functions."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import TYPE_CHECKING

from gen.diagnostics import nearest, show
from gen.plan import MAX_TICKS, Stage
from gen.read.keys import Located, complain
from gen.read.kinds import Trigger, ticks_text
from gen.sensors import AnalogueItem
from gen.units import Wrong

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.diagnostics import Problems
    from gen.read.kinds import TriggerText
    from gen.resolve.sensors import Feeling
    from gen.ship import LowBatteryItem, Ship

SUPPLY_FILTER_TICKS = 100
"""How a supply is smoothed, 0.5 s: a motor that starts pulls it down for less than that."""

SUPPLY_REFERENCE_MV = Decimal(5_000)
"""What it is measured against: the board's supply."""


def sensed_supplies(ship: Ship) -> list[AnalogueItem]:
    """A sensor for each supply that is sensed, of the supply's name."""
    return [
        _sensor(supply.name, supply.sensed_on, supply.divider)
        for supply in ship.supplies or ()
        if supply.sensed_on is not None
    ]


def _sensor(
    name: Located[str], pin: Located[str], divider: Located[tuple[Decimal, Decimal]] | None
) -> AnalogueItem:
    return AnalogueItem(
        place=name.place,
        name=name,
        pin=pin,
        kind=Located("analogue", "analogue", name.place),
        divider=divider,
        filter=Located(SUPPLY_FILTER_TICKS, "500 ms", name.place),
        reference=Located(SUPPLY_REFERENCE_MV, "5 V", name.place),
    )


class LowBattery:
    """Resolves the section `low battery`."""

    def __init__(
        self, item: LowBatteryItem, ship: Ship, feeling: Feeling, problems: Problems
    ) -> None:
        self.item = item
        self.written = ship.functions.places
        self.feeling = feeling
        self.problems = problems
        self.supply = self._watched(ship)

    def _watched(self, ship: Ship) -> str | None:
        sensed = [item.name.value for item in sensed_supplies(ship)]
        wanted = self.item.watches
        if wanted is not None and wanted.value not in sensed:
            self.problems.add(
                "unknown-name",
                wanted.place,
                "low battery: there is no such supply that is sensed",
                got=show(wanted.text),
                hint=nearest(wanted.value, sensed),
            )
            return None
        if wanted is None and len(sensed) != 1:
            self.problems.add(
                "not-sensed",
                self.item.place,
                "low battery: which supply is meant is not clear",
                got=", ".join(sensed) or "no supply that is sensed",
                expected="one supply with 'sensed on:', or 'watches:' and its name",
            )
            return None
        return wanted.value if wanted is not None else sensed[0]

    def resolve(
        self, functions: tuple[Function, ...]
    ) -> tuple[tuple[Stage, ...], tuple[Function, ...]]:
        """The stages, the highest voltage first, and the functions with theirs."""
        above = self._told(self.item.recovers)
        if self.supply is None or above is None:
            return (), functions
        stages: dict[Stage, tuple[Located[str], ...]] = {}
        for text, names in self.item.stages.items.items():
            stage = self._stage(text, above)
            if stage is not None:
                stages[stage] = names
        ordered = sorted(stages, key=lambda stage: -stage.below.high)
        stage_of: dict[str, int] = {}
        for index, stage in enumerate(ordered):
            for name in stages[stage]:
                self._claim(name, index, stage_of)
        return tuple(ordered), tuple(
            dataclasses.replace(
                function,
                gate=dataclasses.replace(function.gate, stage=stage_of[function.name]),
            )
            if function.name in stage_of
            else function
            for function in functions
        )

    def _claim(self, name: Located[str], index: int, stage_of: dict[str, int]) -> None:
        if name.value not in self.written:
            what = "low battery: there is no such function"
            hint = nearest(name.value, self.written)
            self.problems.add("unknown-name", name.place, what, got=show(name.text), hint=hint)
        elif name.value in stage_of:
            what = "low battery: the function stands in two stages"
            self.problems.add("shed-twice", name.place, what, got=show(name.text))
        else:
            stage_of[name.value] = index

    def _stage(self, text: str, above: Stage) -> Stage | None:
        place = self.item.stages.places[text]
        try:
            written = Located(Trigger().parse(text), text, place)
        except Wrong as wrong:
            complain(self.problems, place, "low battery: the time", text, wrong)
            return None
        below = self._told(written)
        if below is None:
            return None
        if below.below.low != 0 or below.below.high >= above.below.low:
            self.problems.add(
                "wrong-stage",
                place,
                "low battery: a stage begins below a voltage that is lower than 'recovers'",
                got=show(text),
                expected="below a voltage such as 11.4 V",
            )
            return None
        return Stage(below.below, below.for_ticks, above.below, above.for_ticks)

    def _told(self, written: Located[TriggerText]) -> Stage | None:
        """What a text such as "below 11.4 V for 5 s" says of the supply, as half a stage."""
        if self.supply is None:
            return None
        felt = self.feeling.felt("low battery", written, f"{self.supply} {written.value.what}")
        if felt is None:
            return None
        if written.value.for_ticks > MAX_TICKS:
            what, expected = "low battery: the time is too long", f"at most {ticks_text(MAX_TICKS)}"
            got = show(written.text)
            self.problems.add("out-of-range", written.place, what, got=got, expected=expected)
            return None
        return Stage(felt, written.value.for_ticks, felt, written.value.for_ticks)
