"""What sets a rhythm or a dimmer going, as `host_tools/model/behaviours/trigger.py` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours.trigger import When

if TYPE_CHECKING:
    from gen.behaviours.trigger import Trigger
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.function import FunctionEncoding, Seen
    from host_tools.prove.encoding.part import Memory


def triggered(
    of: FunctionEncoding[Any],
    trigger: Trigger,
    me: Memory,
    see: Seen,
    was: Truth,
    *,
    by_itself: bool = False,
) -> Truth:
    """Whether it is to go on or off, when it `was` on. A pattern that ends `by_itself` is not
    pressed off."""
    if trigger.when is When.ALWAYS:
        return True
    if trigger.ask is None:
        return me.so0
    if trigger.when is When.HELD:
        return of.held(trigger.ask, see)
    pressed = of.pressed(me, trigger.ask, see)
    return of.a.either(pressed, True if by_itself else of.a.no(was), was)
