"""What all parts of a tick have in common: what they remember, within what bounds."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.prove.algebra import Truth


@dataclass(frozen=True, slots=True)
class Count:
    """A number that a part remembers: from `low` to `high`, both included. The sketch has `bits`
    for it."""

    low: int
    high: int
    start: int = 0
    bits: int = 16

    @property
    def fits(self) -> bool:
        """Whether the sketch can hold all of it."""
        return self.low >= 0 and self.high < 1 << self.bits


@dataclass(frozen=True, slots=True)
class Flag:
    """A yes or no that a part remembers."""

    start: bool = False


Variable = Count | Flag


class Memory(SimpleNamespace):
    """What one part remembers, by name. A tick changes it step by step, as the model's does."""

    def copy(self) -> Memory:
        """The same, to be changed on its own."""
        return Memory(**vars(self))


class Part:
    """One channel, control, sensor, stage or function at work. `a` is the algebra."""

    def __init__(self, a: Any) -> None:
        self.a = a

    def variables(self) -> dict[str, Variable]:
        """All that it remembers."""
        raise NotImplementedError

    def start(self) -> Memory:
        """What it remembers at power-up."""
        return Memory(**{name: one.start for name, one in self.variables().items()})

    def keeps(self, me: Memory) -> Truth:
        """What always holds of that besides its bounds. It is proved, never assumed."""
        del me
        return True

    def branch(
        self, condition: Truth, me: Memory, then: Callable[[Memory], Any], other: Any
    ) -> Any:
        """What `then` gives, and what it does to `me`, where the condition holds; else `other`."""
        if isinstance(condition, bool):
            return then(me) if condition else other
        changed = me.copy()
        given = then(changed)
        for name, before in list(vars(me).items()):
            now = getattr(changed, name)
            if now is not before:
                setattr(me, name, self.a.either(condition, now, before))
        return self.a.either(condition, given, other)
