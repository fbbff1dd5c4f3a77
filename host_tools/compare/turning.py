"""At which widths of a stick or knob two ships differ, where what it turns differs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Dimmer, Follow
from gen.lightness import FULL
from host_tools.prove.algebra import Whole
from host_tools.prove.encoding.behaviours.follow import FollowEncoding

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.plan import Plan
    from host_tools.compare.reach import Reach
    from host_tools.compare.sameness import Sameness


def telling_widths(
    same: Sameness,
    reached: tuple[Reach, Reach],
    controls: Sequence[tuple[int, int]],
) -> list[int]:
    """Of each way from rest the width that is soonest turned to otherwise, and that where the most
    is otherwise, for every function of both that a stick of these turns."""
    found: list[int] = []
    for old in sorted(reached[0].exact):
        new = same.matching.functions.get(old)
        if new is None or new not in reached[1].exact:
            continue
        for (_, one), (_, other) in (
            (a, b) for a in controls if a[0] == 0 for b in controls if b[0] == 1
        ):
            found += _telling((same.old.plan, same.new.plan), (old, new), (one, other))
    return found


def _telling(
    plans: tuple[Plan, Plan], functions: tuple[int, int], controls: tuple[int, int]
) -> Iterator[int]:
    (old, new), (i, j), (one, other) = plans, functions, controls
    low = min(old.controls[one].ends_half_us[0], new.controls[other].ends_half_us[0])
    high = max(old.controls[one].ends_half_us[1], new.controls[other].ends_half_us[1])
    pairs = [
        (width, mine, theirs)
        for width, mine, theirs in zip(
            range(low, high + 1),
            _turned(old, i, one, low, high),
            _turned(new, j, other, low, high),
            strict=False,
        )
        if mine != theirs
    ]
    rest = _rest(old, i)
    for way in (-1, 1):
        mine = [pair for pair in pairs if (pair[1] - rest) * way > 0 or (pair[2] - rest) * way > 0]
        if mine:
            yield min(mine, key=lambda pair: (min(abs(pair[1] - rest), abs(pair[2] - rest)), pair))[
                0
            ]
            yield max(mine, key=lambda pair: (abs(pair[1] - pair[2]), -pair[0]))[0]


def _rest(plan: Plan, index: int) -> int:
    function = plan.functions[index]
    return plan.servos[function.drives].rest_half_us if isinstance(function, Follow) else 0


def _turned(plan: Plan, index: int, control: int, low: int, high: int) -> Iterator[int]:
    """What a function makes of each width of a control."""
    function = plan.functions[index]
    if isinstance(function, Follow):
        encoding = FollowEncoding(Whole(), function, plan)
        if control == function.stick.control:
            yield from (encoding._pointed_at(False, w, False, 0) for w in range(low, high + 1))
        elif function.tied is not None and control == function.tied.stick.control:
            yield from (encoding._pointed_at(True, w, False, 0) for w in range(low, high + 1))
        elif function.mixed is not None and control == function.mixed.stick.control:
            middle = function.stick.centre_half_us
            yield from (encoding._pointed_at(False, middle, True, w) for w in range(low, high + 1))
    elif isinstance(function, Dimmer) and function.knob == control:
        first, last = plan.controls[control].ends_half_us
        scale = -(-(FULL << 16) // (last - first))
        yield from ((min(max(w, first), last) - first) * scale >> 16 for w in range(low, high + 1))
