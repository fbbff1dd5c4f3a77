"""The rules of a ship file: what must never happen, whatever a thumb does.

    never A while B
    always A within TIME of B
    after A until B never C

A, B and C are a function ("davit" is any of its states but the first), a function in one of its
states ("davit lowering", "deck lights off"), `lost signal` (that of any control which a function
of the rule obeys) or `lost signal on CHANNEL`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from gen.diagnostics import nearest, show
from gen.plan import StateOf
from gen.read.keys import Located, complain
from gen.read.kinds import Duration
from gen.resolve.doings import Doings, function_named
from gen.units import Wrong

if TYPE_CHECKING:
    from gen.diagnostics import Problems
    from gen.plan import Plan
    from gen.ship import Ship

RULE_WORDS = (
    "'never A while B', 'always A within 1 s of B', 'after A until B never C', where A, B and C are"
    " a function with or without its state, or 'lost signal'"
)
_TIME = Duration("1 s", least_ticks=0)
_LOST = "lost signal"
_FORMS = (
    re.compile(r"(?P<form>never) (?P<a>.+) while (?P<b>.+)"),
    re.compile(r"(?P<form>always) (?P<a>.+) within (?P<time>.+?) of (?P<b>.+)"),
    re.compile(r"(?P<form>after) (?P<a>.+) until (?P<b>.+) never (?P<c>.+)"),
)


@dataclass(frozen=True, slots=True)
class Lost:
    """The signal is lost on one of these channels (indices into the plan's)."""

    channels: tuple[int, ...]


Doing: TypeAlias = StateOf | Lost
"""What a rule speaks of."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: `text` as it is written, on this line of the ship file."""

    text: str
    source_line: int


@dataclass(frozen=True, slots=True)
class NeverWhile(Rule):
    """Never the one while the other."""

    what: Doing
    other: Doing


@dataclass(frozen=True, slots=True)
class AlwaysWithin(Rule):
    """Once `of` has been so for `ticks`, `what` is so for as long as it lasts."""

    what: Doing
    ticks: int
    of: Doing


@dataclass(frozen=True, slots=True)
class NeverBetween(Rule):
    """From `begin` on, `what` is never so until `end` was."""

    begin: Doing
    end: Doing
    what: Doing


def read_rules(ship: Ship, plan: Plan, problems: Problems) -> tuple[Rule, ...]:
    """Every rule of a ship file, in its order; what cannot be read goes to `problems`."""
    reader = _Reader(plan, problems)
    found = [reader.read(text) for text in ship.rules or ()]
    return tuple(rule for rule in found if rule is not None)


class _Reader:
    def __init__(self, plan: Plan, problems: Problems) -> None:
        self.plan = plan
        self.problems = problems
        self.doings = Doings([one.name for one in plan.functions], frozenset(), problems)
        self.doings.resolved = {one.name: one for one in plan.functions}

    def read(self, text: Located[str]) -> Rule | None:
        """One rule; None after noting what is wrong with it."""
        matches = (form.fullmatch(" ".join(text.value.split())) for form in _FORMS)
        match = next(filter(None, matches), None)
        if match is None:
            self.problems.add(
                "rule-words",
                text.place,
                "no rule is written so",
                got=show(text.text),
                expected=RULE_WORDS,
            )
            return None
        parts = [match[one] for one in "abc" if one in match.re.groupindex]
        about = self._obeyed(parts)
        said = [self._doing(text, part, about) for part in parts]
        doings = [one for one in said if one is not None]
        if len(doings) < len(parts):
            return None
        line = text.place.line
        if match["form"] == "never":
            return NeverWhile(text.value, line, *doings)
        if match["form"] == "after":
            return NeverBetween(text.value, line, *doings)
        try:
            ticks = _TIME.parse(match["time"])
        except Wrong as wrong:
            complain(self.problems, text.place, "rule: the time", match["time"], wrong)
            return None
        return AlwaysWithin(text.value, line, doings[0], ticks, doings[1])

    def _obeyed(self, parts: list[str]) -> tuple[int, ...]:
        """The channels of all controls that the rule's functions obey."""
        named = {function_named(part, self.doings.order) for part in parts}
        functions = [one for one in self.plan.functions if one.name in named]
        controls = {control for one in functions for control in one.controls}
        return tuple(sorted({self.plan.controls[control].channel for control in controls}))

    def _doing(self, text: Located[str], part: str, about: tuple[int, ...]) -> Doing | None:
        if part != _LOST and not part.startswith(f"{_LOST} on "):
            located = Located(part, text.text, text.place)
            return self.doings.state_of(located, f"rule {show(text.value)}")
        channels = about
        if part != _LOST:
            name = part.removeprefix(f"{_LOST} on ")
            channels = tuple(i for i in about if self.plan.channels[i].name == name)
        if channels:
            return Lost(channels)
        known = [self.plan.channels[index].name for index in about]
        self.problems.add(
            "unknown-name",
            text.place,
            f"rule {show(text.value)}: its functions obey no such channel",
            got=show(part),
            expected=", ".join(known) or "a function that obeys a control",
            hint=nearest(part.removeprefix(f"{_LOST} on "), known),
        )
        return None
