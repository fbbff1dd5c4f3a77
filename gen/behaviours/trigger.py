"""What sets a rhythm or a dimmer going: a key, what another function does, or nothing at all.

deck key up            press on, press off
deck key up held       on while held
deck lights            on while that function is
bilge sensor above 2 V on while that sensor feels so
davit lowering         on while it is in that state
always                 on as long as the board has power
"""

from __future__ import annotations

import enum
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.behaviours.base import Answer
from gen.behaviours.conditions import condition_in_words
from gen.read.kinds import Plain

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.plan import Ask, Felt, Plan, StateOf
    from gen.read.keys import Located
    from gen.resolve.context import Context

HELD = " held"
ALWAYS = "always"

TRIGGER = Plain(
    "a key and its position, the same and 'held', a function with or without its state, what a"
    " sensor feels, or 'always'"
)


class When(enum.StrEnum):
    """How a trigger is meant."""

    ALWAYS = "always"
    PRESSED = "pressed"
    HELD = "held"
    SO = "so"


@dataclass(frozen=True, slots=True)
class Trigger:
    """`ask` is the position of PRESSED and HELD, `of` what is so of SO."""

    when: When
    ask: Ask | None = None
    of: Felt | StateOf | None = None

    @property
    def controls(self) -> tuple[int, ...]:
        """The control that it obeys, if any."""
        return (self.ask.control,) if self.ask is not None else ()

    @property
    def conditions(self) -> tuple[Felt | StateOf, ...]:
        """What it looks at, if anything."""
        return (self.of,) if self.of is not None else ()

    @property
    def answers(self) -> tuple[Answer, ...]:
        """What its position does, if it has one."""
        if self.ask is None:
            return ()
        does = "on while held" if self.when is When.HELD else "on and off in turn"
        return (Answer(self.ask.control, self.ask.position, does),)

    def in_words(self, plan: Plan) -> str:
        """What sets it going by itself: "always", "while davit lowering"; "" if a thumb does."""
        if self.when is When.ALWAYS:
            return "always"
        return f"while {condition_in_words(self.of, plan)}" if self.of is not None else ""

    def cell(self, plan: Plan) -> str:
        """Its C++ expression."""
        asked = f", {plan.ask_code(self.ask)}" if self.ask is not None else ""
        return f"Trigger(When::{self.when}{asked})"


def doing_in(text: Located[str], to: Context) -> bool:
    """Whether a trigger's text is about a function or a sensor. A control goes first."""
    value = text.value.removesuffix(HELD)
    return value != ALWAYS and not to.names_control(value)


def resolve_trigger(function: FunctionKeys, text: Located[str], to: Context) -> Trigger | None:
    """The trigger that this text means; None after noting what is wrong."""
    if text.value == ALWAYS:
        return Trigger(When.ALWAYS)
    if doing_in(text, to):
        of = to.trigger(function, text, text.value)
        return Trigger(When.SO, of=of) if of is not None else None
    held = text.value.endswith(HELD)
    position = type(text)(text.value.removesuffix(HELD), text.text, text.place)
    ask = to.ask(function, position)
    if ask is None:
        return None
    return Trigger(When.HELD if held else When.PRESSED, ask=ask)
