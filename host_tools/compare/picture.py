"""Both timelines of a way to where two ships differ, one above the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.plot.lanes import FunctionLane
from host_tools.plot.page import Page
from host_tools.states import Doing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.record import Record
    from host_tools.states import Mark


class BothPage(Page):
    """The run of the old ship, with the same functions of the new one below."""

    def __init__(
        self,
        plans: tuple[Plan, Plan],
        records: tuple[Record, Record],
        functions: tuple[frozenset[int], frozenset[int]],
        marks: Sequence[Mark],
        rung: str,
    ) -> None:
        super().__init__(plans[0], records[0], marks, rung)
        told = []
        for plan, record, mine in zip(plans, records, functions, strict=True):
            doing = Doing(plan, record)
            told.append([FunctionLane(doing, plan.functions[index]) for index in sorted(mine)])
        acts = {lane.name for lanes in told for lane in lanes if lane.acts}
        old, new = ([lane for lane in lanes if lane.name in acts] for lanes in told)
        obeyed = {
            control for index in functions[0] for control in plans[0].functions[index].controls
        }
        names = {plans[0].controls[control].name for control in obeyed}
        self.arrange(
            {
                "CONTROLS": [lane for lane in self.controls if lane.name in names],
                "SENSORS": self.sensors,
                "OLD": old or told[0],
                "NEW": new or told[1],
            },
            [],
        )
