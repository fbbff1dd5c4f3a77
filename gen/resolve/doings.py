"""Texts that say what a function is doing: "deck lights", "davit lowering", "pump for 2 s"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import nearest, show
from gen.plan import StateOf
from gen.read.keys import complain
from gen.read.kinds import Duration
from gen.units import Wrong

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.behaviours.base import Function
    from gen.diagnostics import Problems
    from gen.read.keys import Located

WAIT = Duration("2 s")


def function_named(text: str, names: Iterable[str]) -> str:
    """The function that a text begins with, the longest if there are several; "" if none."""
    fitting = [name for name in names if text == name or text.startswith(f"{name} ")]
    return max(fitting, key=len, default="")


def timed_name(text: str, word: str, names: Iterable[str]) -> str:
    """The same for a text that may end in `word` and a time."""
    return function_named(text.rpartition(f" {word} ")[0] or text, names)


class Doings:
    """Looks up functions and their states; `resolved` grows while functions are resolved in the
    plan's order, so that each can look at those before it."""

    def __init__(self, order: list[str], broken: frozenset[str], problems: Problems) -> None:
        self.order = {name: index for index, name in enumerate(order)}
        self.resolved: dict[str, Function] = {}
        self._broken = broken
        self._problems = problems

    def state_of(self, text: Located[str], label: str) -> StateOf | None:
        """What must be so for the text to be true; a function alone is in any state but its first.
        None after noting why there is nothing, or if that function is unusable itself."""
        return self._state_of(text, text.value, label)

    def timed(self, text: Located[str], word: str, label: str) -> tuple[StateOf | None, int]:
        """The same for a text that may end in `word` and a time, and that time in ticks."""
        doing, found, time = text.value.rpartition(f" {word} ")
        if not found or not function_named(doing, self.order):
            return self.state_of(text, label), 0
        try:
            return self._state_of(text, doing, label), WAIT.parse(time)
        except Wrong as wrong:
            complain(self._problems, text.place, f"{label}: the time", time, wrong)
            return None, 0

    def _state_of(self, text: Located[str], doing: str, label: str) -> StateOf | None:
        name = function_named(doing, self.order)
        if not name:
            if not function_named(doing, self._broken):
                self._problems.add(
                    "unknown-name",
                    text.place,
                    f"{label}: there is no such function",
                    got=show(text.text),
                    hint=nearest(doing, self.order),
                )
            return None
        function = self.resolved.get(name)
        if function is None:
            return None
        word = doing[len(name) :].strip()
        if not word:
            return StateOf(self.order[name], tuple(range(1, len(function.states))))
        if word not in function.states:
            self._problems.add(
                "unknown-name",
                text.place,
                f"{label}: function {show(name)} has no such state",
                got=show(word),
                expected="one of " + ", ".join(function.states),
            )
            return None
        return StateOf(self.order[name], (function.states.index(word),))
