"""A force ends: by itself, and at once where the host falls silent or the ship's rules forbid it.

Between two ticks the host may say any number of lines. So, as with pulses, each kind of step is
taken by itself - a line is heard, and obeyed; a tick goes by - from every state that the steps
before can leave.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import z3

from gen.behaviours.base import seconds
from host_tools.link.simulated.bench import ARMED_TICKS, FORCED_TICKS, SILENT_TICKS
from host_tools.prove.encoding.bench import BenchEncoding
from host_tools.prove.lemma import Lemma, any_memory, follows, inside
from host_tools.prove.terms import Terms

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from gen.plan import Plan
    from host_tools.prove.encoding.part import Memory


HOW = "for whatever a host may say, line by line"


def force_lemmas(plan: Plan) -> Iterator[Lemma]:
    """That a force ends, of a ship with a bench."""
    if plan.bench is None:
        return
    steps = _Steps(plan)
    for text, proved in (
        (
            f"a force ends {seconds(FORCED_TICKS)} after the last time that one was armed, at the"
            " latest",
            steps.ends_in_time(),
        ),
        (
            f"a force ends once the host has been silent for {seconds(SILENT_TICKS)}",
            steps.ends_in_silence(),
        ),
        (
            f"nothing is forced that was not armed within {seconds(ARMED_TICKS)} before",
            steps.is_armed_first(),
        ),
        (
            "a force that other functions or a low battery forbid ends in the tick in which they"
            " do, and needs to be armed again",
            steps.ends_when_barred(),
        ),
    ):
        yield Lemma("force", text, plan.bench.source_line, proved, HOW)


class _Steps:
    """What the host may say, and a tick, from any state that is within its bounds."""

    def __init__(self, plan: Plan) -> None:
        self.a = Terms()
        self.bench = BenchEncoding(self.a, plan)
        self.function, self.state = z3.Int("function"), z3.Int("state")
        self.barred = z3.Bool("barred")
        # How long ago what a claim is about happened last.
        self.ago, self.of = z3.Int("ago"), z3.Int("of")

    def ends_in_time(self) -> bool:
        """`ago` is how long ago anything was armed."""

        def kept(me: Memory, ago: Any) -> Any:
            counted = self.a.any_of(me.since_armed == FORCED_TICKS, me.since_armed == ago)
            in_time = self.a.any_of(me.forced == 0, ago < FORCED_TICKS)
            return self.a.both(counted, in_time)

        return self._always(kept, self.ago >= FORCED_TICKS, arm=just_now)

    def ends_in_silence(self) -> bool:
        """`ago` is how long ago the host was heard."""

        def kept(me: Memory, ago: Any) -> Any:
            counted = self.a.any_of(me.silent == SILENT_TICKS, me.silent == ago)
            return self.a.both(counted, self.a.any_of(me.forced == 0, ago < SILENT_TICKS))

        return self._always(kept, self.ago == 0, line=just_now)

    def is_armed_first(self) -> bool:
        """`ago` is how long ago one of the functions was armed, whichever."""
        a = self.a

        def kept(me: Memory, ago: Any) -> Any:
            return a.any_of(me.armed != self.of, me.since_armed >= ARMED_TICKS, ago < ARMED_TICKS)

        def tight(me: Memory, ago: Any) -> Any:
            counted = a.any_of(me.since_armed == FORCED_TICKS, me.since_armed == ago)
            return a.both(kept(me, ago), a.any_of(me.armed != self.of, counted))

        before, me = any_memory(self.bench, "b")
        self.bench.force(me, self.function, self.state)
        begins = a.both(me.forced == self.of, before.forced != self.of)
        given = [*self._given(before), tight(before, self.ago), self.of >= 1]
        in_time = follows(a, given, a.any_of(a.no(begins), self.ago < ARMED_TICKS))

        def armed(ago: Any) -> Any:
            return a.either(self.function == self.of, 0, ago)

        never = a.both(self.of >= 1, self.ago >= FORCED_TICKS)
        return in_time and self._always(tight, never, given=[self.of >= 1], arm=armed)

    def ends_when_barred(self) -> bool:
        """In that very tick; and whatever ends a force, it needs to be armed again."""
        a = self.a
        before, me = any_memory(self.bench, "b")
        self.bench.tick(me, self.barred)
        idle = a.both(me.forced == 0, me.armed == 0)
        ended = a.any_of(self.barred, a.both(before.forced != 0, me.forced == 0))
        by_tick = follows(a, self._given(before), a.any_of(a.no(ended), idle))
        before, me = any_memory(self.bench, "b")
        self.bench.let_go(me)
        return by_tick and follows(a, self._given(before), a.both(me.forced == 0, me.armed == 0))

    def _given(self, before: Memory) -> list[Any]:
        return [inside(self.a, self.bench, before), self.bench.keeps(before), self.ago >= 0]

    def _always(
        self,
        kept: Callable[[Memory, Any], Any],
        begins: Any,
        given: Sequence[Any] = (),
        line: Callable[[Any], Any] = lambda ago: ago,
        arm: Callable[[Any], Any] = lambda ago: ago,
    ) -> bool:
        """Whether `kept`, and all bounds, hold at power-up, where `ago` `begins`, and outlast every
        step; `line` and `arm` say what becomes of `ago` when the host is heard, and when it arms
        something that there is."""
        bench, a = self.bench, self.a
        heard = line(self.ago)
        known = a.both(self.function >= 1, self.function <= len(bench.most))
        steps: list[tuple[Callable[[Memory], None], Any]] = [
            (lambda _: None, heard),
            (lambda me: bench.arm(me, self.function), a.either(known, arm(heard), heard)),
            (lambda me: bench.force(me, self.function, self.state), heard),
            (bench.let_go, heard),
        ]
        holds = follows(a, [begins], kept(bench.start(), self.ago))
        for obey, ago in steps:
            before, me = any_memory(bench, "b")
            bench.hear(me)
            obey(me)
            holds = holds and self._outlasts(before, me, kept, ago, given)
        before, me = any_memory(bench, "b")
        bench.tick(me, self.barred)
        return holds and self._outlasts(before, me, kept, self.ago + 1, given)

    def _outlasts(
        self,
        before: Memory,
        me: Memory,
        kept: Callable[[Memory, Any], Any],
        ago: Any,
        given: Sequence[Any],
    ) -> bool:
        after = self.a.both(kept(me, ago), self.bench.keeps(me), inside(self.a, self.bench, me))
        return follows(self.a, [*self._given(before), kept(before, self.ago), *given], after)


def just_now(ago: Any) -> Any:
    """How long ago something happened that happens in this step."""
    del ago
    return 0
