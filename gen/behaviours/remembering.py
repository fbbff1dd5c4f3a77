"""What comes back after power-up as it was left, if its owner asks for that."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours.trigger import When
from gen.diagnostics import show

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.behaviours.trigger import Trigger
    from gen.read.keys import Located
    from gen.resolve.context import Context

MOVES = ("motor", "solenoid")
"""Loads that nobody wants to see start by themselves when the battery is put in."""

REMEMBER = "whether it comes back after power-up as it was left"
"""What the key `remember` says, of every behaviour that has it."""

KEPT_BYTES = 1
"""Whether it is on, or in which state it is."""


def check_remember(function: FunctionKeys, remember: Located[bool], to: Context) -> None:
    """Notes a function that may not come back by itself: it moves something."""
    kind = function.load.kind if function.load is not None else None
    if remember.value and kind is not None and kind.value in MOVES:
        to.problem(
            "remember-moves",
            remember.place,
            f"function {show(function.name.value)}: what moves does not start by itself",
            got=f"a {kind.value}",
        )


def check_remember_pressed(
    function: FunctionKeys, remember: Located[bool], trigger: Trigger | None, to: Context
) -> None:
    """The same, and one that is on for as long as something else is so: that says it anew."""
    check_remember(function, remember, to)
    if remember.value and trigger is not None and trigger.when is not When.PRESSED:
        to.problem(
            "remember-nothing",
            remember.place,
            f"function {show(function.name.value)}: what switches it on says so anew at power-up",
            expected="a key that is pressed on and off",
        )
