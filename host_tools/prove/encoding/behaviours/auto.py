"""Auto: on by itself while something is felt; what is wanted of it is whether it is on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Auto, Loss
from host_tools.model.behaviours.base import words
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.function import OnOffEncoding
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class AutoEncoding(OnOffEncoding[Auto]):
    """As `AutoModel`."""

    def memory(self) -> dict[str, Variable]:
        function = self.function
        return {
            "on": Flag(),
            "rests": Flag(),
            "waited": Count(0, function.wait_ticks, bits=32),
            "run_on_left": Count(0, function.run_on_ticks, bits=32),
            "ran": Count(0, function.longest_ticks, bits=32),
        }

    def asked(self, me: Memory, see: Seen) -> Any:
        a = self.a
        stopped = self.held(self.function.stop, see)
        runs = self._runs_by_itself(me, stopped)
        return a.both(a.no(stopped), a.any_of(runs, self.held(self.function.by_hand, see)))

    def _runs_by_itself(self, me: Memory, stopped: Truth) -> Truth:
        a, function = self.a, self.function
        waited = a.either(me.so0, me.waited, 0)
        rests = a.both(me.so0, me.rests)
        due = a.both(me.so0, waited == function.wait_ticks)
        me.waited = waited + a.count(a.both(me.so0, a.no(due)))
        runs = a.any_of(due, me.run_on_left > 0)
        run_on_left = a.either(due, function.run_on_ticks, a.most(me.run_on_left - 1, 0))
        longest = function.longest_ticks
        too_long = a.both(runs, me.ran == longest) if longest else False
        me.rests = a.any_of(rests, stopped, too_long)
        me.run_on_left = a.either(me.rests, 0, run_on_left)
        runs = a.both(runs, a.no(me.rests))
        me.ran = a.either(runs, me.ran + int(longest > 0), 0)
        return runs

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        del me
        return wanted if self.function.on_loss is Loss.KEEP else False

    def become(self, me: Memory, wanted: Any) -> None:
        me.on = wanted
        me.run_on_left = self.a.either(wanted, me.run_on_left, 0)
        me.ran = self.a.either(wanted, me.ran, 0)

    def state(self, me: Memory) -> Number:
        return self.a.count(me.on)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        times = (*words(me.waited), *words(me.run_on_left), *words(me.ran))
        told = bytes_as_word(int(me.so0), int(me.rests))
        return (bytes_as_word(int(me.on), 0), told, *times)
