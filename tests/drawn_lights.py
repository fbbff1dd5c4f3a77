"""Lights, sounds and sequences for drawn plans."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.behaviours import Dimmer, Function, Loss, Rhythm, Sequence, Step
from gen.behaviours.dimmer import FLICKERS
from gen.behaviours.sequence import Leg
from gen.behaviours.trigger import Trigger, When
from gen.plan import Light, StateOf

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

    from gen.plan import Ask

MEGA_LIGHT_PINS = (
    ("D9", "OC2B"),
    ("D10", "OC2A"),
    *((f"A{number}", "software") for number in range(8)),
    *((f"D{number}", "software") for number in (3, 4, 11, 12, 13)),
)


ANYTHING = StateOf(0, (0,))
"""Stands in until all functions are drawn."""


@dataclass
class Parts:
    """What a plan that is being drawn has to give: asks, new lines, its proportional controls."""

    draw: random.Random
    ask: Callable[[], Ask]
    line: Callable[[str], int]
    moving: list[int]
    lights: list[Light] = field(default_factory=list)

    def light(self) -> int:
        """A new light."""
        number = len(self.lights)
        pin, unit = MEGA_LIGHT_PINS[number]
        self.lights.append(Light(f"light {number}", f"light_{number}", pin, unit))
        return number

    def trigger(self) -> Trigger:
        """A trigger of any kind."""
        when = self.draw.choice(list(When))
        ask = self.ask() if when in (When.PRESSED, When.HELD) else None
        return Trigger(when, ask, ANYTHING if when is When.SO else None)


def step(parts: Parts, name: str, loss: Loss) -> Step:
    """Two or three states of up to two lines and a light."""
    draw = parts.draw
    own_lines = tuple(parts.line(f"{name}_line_{n}") for n in range(draw.choice([0, 1, 2])))
    own_lights = (parts.light(),) if not own_lines or draw.random() < 0.5 else ()
    duties = [(0,), (7,), (255,)] if own_lights else [()]
    looks = [(mask, duty) for mask in range(1 << len(own_lines)) for duty in duties]
    looks = [looks[0], *draw.sample(looks[1:], min(len(looks) - 1, draw.randint(1, 3)))]
    return Step(
        name=name,
        code=name,
        on_loss=Loss.OFF if loss is Loss.ON else loss,
        ask=parts.ask(),
        back=draw.choice([None, parts.ask()]),
        names=("off", *(f"state {number}" for number in range(1, len(looks)))),
        masks=tuple(mask for mask, _ in looks),
        duties=tuple(duty for _, duty in looks),
        own_lines=own_lines,
        own_lights=own_lights,
        wraps=draw.random() < 0.5,
        remember=draw.random() < 0.5,
    )


def rhythm(parts: Parts, name: str, loss: Loss) -> Rhythm:
    """Up to eight phases, from one tick on."""
    draw = parts.draw
    phases = tuple(draw.choice([1, 2, 3, 50, 400]) for _ in range(draw.randint(1, 4) * 2))
    repeats = draw.random() < 0.6
    trigger = parts.trigger()
    return Rhythm(
        name=name,
        code=name,
        on_loss=loss,
        trigger=trigger,
        phases_ticks=phases if repeats else phases[:-1],
        begins_on=not repeats or draw.random() < 0.5,
        repeats=repeats,
        keeps_phase=repeats and draw.random() < 0.4,
        drives=parts.line(f"{name}_line"),
        text="drawn",
        remember=repeats and trigger.when is When.PRESSED and draw.random() < 0.5,
    )


def sequence(parts: Parts, name: str, loss: Loss) -> Sequence:
    """Up to five legs, timed and waiting, of two lines."""
    draw = parts.draw
    legs = [
        Leg(
            draw.randrange(4),
            draw.choice([1, 40]) if wait is None else draw.choice([0, 1, 2, 40, 300]),
            wait,
            aborts=draw.random() < 0.5,
        )
        for wait in draw.choices([None, 0, 1], k=draw.randint(1, 5))
    ]
    if draw.random() < 0.5:
        legs.append(Leg(draw.randint(1, 3), 0, None, aborts=False))
    return Sequence(
        name=name,
        code=name,
        on_loss=Loss.OFF if loss is Loss.ON else loss,
        ask=parts.ask(),
        abort=draw.choice([None, parts.ask()]),
        own_lines=(parts.line(f"{name}_line_0"), parts.line(f"{name}_line_1")),
        line_names=("one", "two"),
        legs=tuple(legs),
        waits=(ANYTHING, ANYTHING),
    )


def dimmer(parts: Parts, name: str, loss: Loss) -> Dimmer:
    """Fixed or by a knob, with and without fades and flicker."""
    draw = parts.draw
    trigger = parts.trigger()
    return Dimmer(
        name=name,
        code=name,
        on_loss=loss,
        trigger=trigger,
        brightness=draw.choice([0, 1, 100, 255]),
        knob=draw.choice([None, *parts.moving]),
        up_per_256=draw.choice([1, 300, 65280]),
        down_per_256=draw.choice([1, 300, 65280]),
        flicker=draw.choice(["", "", *FLICKERS]),
        seed=draw.randint(1, 0xFFFF),
        drives=parts.light(),
        remember=trigger.when is When.PRESSED and draw.random() < 0.5,
    )


DRAWS: dict[str, Callable[[Parts, str, Loss], Function]] = {
    "step": step,
    "rhythm": rhythm,
    "sequence": sequence,
    "dimmer": dimmer,
}


def with_conditions(draw: random.Random, functions: list[Function]) -> list[Function]:
    """The functions, with what they themselves look at put right: any state of any other one."""

    def state_of(mine: int) -> StateOf:
        other = draw.choice([index for index in range(len(functions)) if index != mine])
        states = range(len(functions[other].states))
        return StateOf(other, tuple(sorted(draw.sample(states, draw.randint(1, 2)))))

    made: list[Function] = []
    for index, function in enumerate(functions):
        if isinstance(function, Rhythm | Dimmer) and function.trigger.of is not None:
            trigger = dataclasses.replace(function.trigger, of=state_of(index))
            made.append(dataclasses.replace(function, trigger=trigger))
        elif isinstance(function, Sequence):
            waits = (state_of(index), state_of(index))
            made.append(dataclasses.replace(function, waits=waits))
        else:
            made.append(function)
    return made
