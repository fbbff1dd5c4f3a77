"""The ship file's own rules, as claims."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.plan import StateOf
from gen.read.rules import AlwaysWithin, Lost, NeverBetween, NeverWhile
from host_tools.prove.claim import Claim
from host_tools.prove.encoding.function import is_so
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from gen.read.rules import Doing, Rule
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def rule_claims(plan: Plan, rules: Sequence[Rule]) -> tuple[Claim, ...]:
    """A claim for each rule."""
    return tuple(_claim(plan, rule) for rule in rules)


def _claim(plan: Plan, rule: Rule) -> Claim:
    match rule:
        case NeverWhile():
            return Never(plan, _functions(rule.what, rule.other), rule)
        case AlwaysWithin():
            return Within(plan, _functions(rule.what, rule.of), rule)
        case NeverBetween():
            return Between(plan, _functions(rule.what, rule.begin, rule.end), rule)
    raise TypeError(f"a rule of an unknown kind: {rule!r}")


def _functions(*doings: Doing) -> tuple[int, ...]:
    return tuple(dict.fromkeys(one.function for one in doings if isinstance(one, StateOf)))


def _is_so(system: System, one: Doing, moment: Moment) -> Truth:
    if isinstance(one, Lost):
        return system.a.any_of(*(moment.lost(channel) for channel in one.channels))
    return is_so(system.a, one, moment.states)


@dataclass(frozen=True)
class RuleClaim(Claim):
    """A rule of the ship file."""

    rule: Rule
    kind = "rule"

    @property
    def text(self) -> str:
        return self.rule.text

    @property
    def source_line(self) -> int:
        return self.rule.source_line

    def is_forced(self, system: System, now: Moment) -> Truth:
        """Whether the bench forces what the rule is about."""
        return system.a.any_of(*(now.forces(index) for index in self.functions))

    def _off(self, doing: Doing, other: Doing) -> str:
        """What a trial expects: that the first function is not as it is."""
        of = doing if isinstance(doing, StateOf) else other
        assert isinstance(of, StateOf)  # noqa: S101 - a rule is about a function
        function = self.plan.functions[of.function]
        calm = next(i for i in range(len(function.states)) if i not in of.states)
        return f"{function.name} {function.states[calm]}"


class Never(RuleClaim):
    """Never the one while the other."""

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        rule = self.rule
        assert isinstance(rule, NeverWhile)  # noqa: S101 - rule_claims sees to it
        both = (_is_so(system, one, now) for one in (rule.what, rule.other))
        return system.a.no(system.a.both(*both))

    def expected(self, before: Sequence[int]) -> str:
        del before
        assert isinstance(self.rule, NeverWhile)  # noqa: S101 - rule_claims sees to it
        return self._off(self.rule.what, self.rule.other)


class Within(RuleClaim):
    """Always the one within a time of the other, counted from when nothing forces it any more."""

    @property
    def text(self) -> str:
        return f"{self.rule.text}{self.unless_forced}"

    @property
    def _rule(self) -> AlwaysWithin:
        assert isinstance(self.rule, AlwaysWithin)  # noqa: S101 - rule_claims sees to it
        return self.rule

    def watches(self) -> dict[str, Variable]:
        return {"since": Count(0, self._rule.ticks + 1)}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a, rule = system.a, self._rule
        more = a.least(me.since + 1, rule.ticks + 1)
        so = a.both(_is_so(system, rule.of, now), a.no(self.is_forced(system, now)))
        me.since = a.either(so, more, 0)

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        late = me.since > self._rule.ticks
        return system.a.any_of(system.a.no(late), _is_so(system, self._rule.what, now))

    def expected(self, before: Sequence[int]) -> str:
        what = self._rule.what
        if not isinstance(what, StateOf):
            return super().expected(before)
        function = self.plan.functions[what.function]
        return f"{function.name} {function.states[what.states[0]]}"


class Between(RuleClaim):
    """Never something from one thing on until another."""

    @property
    def _rule(self) -> NeverBetween:
        assert isinstance(self.rule, NeverBetween)  # noqa: S101 - rule_claims sees to it
        return self.rule

    def watches(self) -> dict[str, Variable]:
        return {"between": Flag()}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a, rule = system.a, self._rule
        begun = a.any_of(me.between, _is_so(system, rule.begin, now))
        me.between = a.both(begun, a.no(_is_so(system, rule.end, now)))

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        return system.a.no(system.a.both(me.between, _is_so(system, self._rule.what, now)))

    def expected(self, before: Sequence[int]) -> str:
        del before
        return self._off(self._rule.what, self._rule.begin)
