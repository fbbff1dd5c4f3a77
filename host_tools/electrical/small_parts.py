"""The small parts of a ship: resistors, transistors, diodes, snubbers and driver arrays."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.electrical.behind import behind_lines
from host_tools.electrical.driver_parts import driver_parts
from host_tools.electrical.found import Found, together
from host_tools.electrical.led_parts import led_parts
from host_tools.electrical.sense_parts import sense_parts
from host_tools.electrical.switch_parts import switch_parts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from gen.ship import Ship
    from host_tools.electrical.consumers import Feed
    from host_tools.electrical.figure import Input
    from host_tools.electrical.reachable import Allowed
    from host_tools.electrical.tree import Tree


def small_parts(
    ship: Ship,
    plan: Plan,
    *,
    feeds: Sequence[Feed],
    tree: Tree,
    allowed: Allowed,
    ambient_c: Input,
) -> Found:
    """All of them, with their figures and what is wrong. `ship` has the lines of its registers;
    `ambient_c` is how warm it gets where they are."""
    lines = behind_lines(ship, feeds)
    file = plan.source
    return together(
        (
            led_parts(feeds, tree, file),
            switch_parts(lines, tree, file),
            driver_parts(ship, plan, lines, tree=tree, allowed=allowed, ambient_c=ambient_c),
            sense_parts(ship, tree, file),
        )
    )
