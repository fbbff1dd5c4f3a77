"""Force from a page: armed by one act, held by signs of life, ended by whatever ends those.

The ship itself ends a force after 300 ms without a sign of life. These come from the page that
holds it, pass through here one by one, and are never made up here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.bench.asked import Not
from host_tools.bench.describe import caution_of
from host_tools.link.barred import why_barred
from host_tools.link.simulated.bench import ARMED_TICKS, FORCED_TICKS, RULE

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.bench.asked import Asked, Json
    from host_tools.bench.source import Source
    from host_tools.model.stepwise import Looks

TICKS_A_SECOND = 200
ARMED_S = ARMED_TICKS / TICKS_A_SECOND
MOST_S = FORCED_TICKS / TICKS_A_SECOND
ALIVE_S = 0.1
SILENT_S = 0.3
"""How long a page may be silent while it holds a force."""

REASONS = {
    "arm": "it is not armed",
    "bench": "the board takes nothing from the bench",
    "range": "the board does not know it",
}


class Forcing:
    """One force at a time, of one page; `owner` is that page, `say` takes words for the log."""

    def __init__(
        self, source: Source, clock: Callable[[], float], say: Callable[[str, str], None]
    ) -> None:
        self.owner: object | None = None
        self.function = 0
        self.state: int | None = None
        self._source = source
        self._clock = clock
        self._say = say
        self._since = self._heard_at = 0.0
        self._is_seen = False

    def commands(self) -> dict[str, Callable[[object, Asked], Json]]:
        """What a page can ask for."""
        return {"arm": self.arm, "force": self.force, "keep": self.keep, "free": self.free}

    @property
    def left_ticks(self) -> int:
        """How long it can last at most from now on."""
        most = ARMED_S if self.state is None else MOST_S
        return max(0, round((self._since + most - self._clock()) * TICKS_A_SECOND))

    def arm(self, page: object, asked: Asked) -> Json:
        """The first step; what moves needs a second word for it."""
        plan = self._source.plan
        index = asked.one_of("function", len(plan.functions))
        sure = asked.flag("sure", usual=False)
        asked.finish()
        allowed = self._source.allowed
        if not allowed.force:
            raise Not("not-now", allowed.why)
        if self.owner not in (None, page) and self.state is not None:
            raise Not("not-now", "another page forces something")
        function = plan.functions[index]
        if caution_of(function) and not sure:
            raise Not("sure", caution_of(function))
        self.end("")
        reason = self._source.arm(index)
        if reason:
            raise Not("not-now", self._words(reason, index, 0))
        self.owner, self.function, self.state = page, index, None
        self._is_seen = False
        self._since = self._clock()
        self._say("force", f"{function.name} is armed")
        return {}

    def force(self, page: object, asked: Asked) -> Json:
        """It begins, or goes on into another state."""
        functions = self._source.plan.functions
        index = asked.one_of("function", len(functions))
        state = asked.one_of("state", len(functions[index].forces))
        asked.finish()
        if self.owner is not page or self.function != index or not self.left_ticks:
            raise Not("not-armed", f"{functions[index].name} is not armed")
        self._heard_at = self._clock()
        reason = self._source.force(index, state)
        if reason:
            words = self._words(reason, index, state)
            self._say("force", words)
            self.end("")
            raise Not("rule" if reason == RULE else "not-armed", words)
        if self.state is None:
            self._since = self._clock()
        self.state = state
        return {}

    def keep(self, page: object, asked: Asked) -> Json:
        """A sign of life of the page that holds it."""
        asked.finish()
        if self.owner is page and self.state is not None:
            self._heard_at = self._clock()
            self._source.here()
        return {}

    def free(self, page: object, asked: Asked) -> Json:
        """It is let go."""
        asked.finish()
        if self.owner is page:
            self.end("let go")
        return {}

    def left(self, page: object) -> None:
        """A page is gone, whatever it was doing."""
        if self.owner is page:
            self.end("its page was left")

    def turn(self) -> None:
        """Ends what has lasted long enough, or is held by nobody."""
        if self.owner is None:
            return
        if self.state is None and self._clock() - self._heard_at >= ALIVE_S:
            # Nothing moves yet: for as long as it is only armed we are the one who is there.
            self._heard_at = self._clock()
            self._source.here()
        if self.state is not None and self._clock() - self._heard_at > SILENT_S:
            self.end("nothing was heard of its page")
        elif not self.left_ticks:
            self.end("its time is over" if self.state is not None else "")

    def see(self, looks: Looks) -> None:
        """The ship itself may have ended it; it tells so a little after it was asked to begin."""
        self._is_seen |= looks.force is not None
        if self.state is None or looks.force is not None or not self._is_seen:
            return
        index, state = self.function, self.state
        self.state = None
        if state:
            self._say("force", why_barred(self._source.plan, index, state))
        self.end("")

    def end(self, why: str) -> None:
        """Whatever was armed or forced is over; `why` is told if anything was forced."""
        if self.owner is None:
            return
        if self.state is not None and why:
            name = self._source.plan.functions[self.function].name
            self._say("force", f"the force of {name} has ended: {why}")
        self.owner, self.state = None, None
        self._source.free()

    def _words(self, reason: str, function: int, state: int) -> str:
        plan = self._source.plan
        if reason == RULE:
            return why_barred(plan, function, state)
        return f"{plan.functions[function].name}: {REASONS.get(reason, reason)}"
