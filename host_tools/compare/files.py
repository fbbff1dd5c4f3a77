"""Files of a difference: what they are called, and the page that is drawn."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from gen.response import FRAME_TICKS
from host_tools.compare.picture import BothPage
from host_tools.compare.words import ends, steps
from host_tools.states import Mark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.compare.replay import Seen
    from host_tools.compare.verdict import Verdict


def stem_of(name: str) -> str:
    """A function's name as that of a file."""
    return re.sub(r"\W+", "-", name.lower()).strip("-") or "function"


def page_of(
    plans: tuple[Plan, Plan], name: str, verdict: Verdict, parts: Sequence[Seen]
) -> BothPage:
    """Both timelines, from the power-up before they differ on."""
    assert verdict.replay is not None  # noqa: S101 - who calls has looked
    part = [one for one in parts if one.begun <= verdict.tick][-1]
    old, new = ends(verdict, parts)
    begun = 0
    marks = []
    for text, held in zip(steps(verdict), verdict.way, strict=True):
        if part.begun <= begun and not held.setting.power:
            marks.append(Mark(begun - part.begun, text.rpartition(" for ")[0]))
        begun += held.frames * FRAME_TICKS
    marks.append(Mark(verdict.tick - part.begun, f"{name}: {old} / {new}", failed=True))
    reach = verdict.replay.hands.reached
    told = f"model; the new plan is {plans[1].plan_id}"
    return BothPage(plans, (part.old, part.new), (reach[0].every, reach[1].every), marks, told)
