"""What a board obeys from the bench, and for how long: the same rules as in the sketch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import MOST_COUNTS, NO_FORCE, force_of, forced_by
from host_tools.link.identity import BENCH_ON
from host_tools.link.told import pulse_of, reading_of

if TYPE_CHECKING:
    from gen.plan import Plan

ARMED_TICKS = 1_000
"""How long after `arm` a force may begin: 5 s."""

FORCED_TICKS = 2_000
"""How long after its last `arm` a force ends at the latest: 10 s."""

ANSWER_TICKS = 2
"""How long the ship's rules are seen at work before a `force` is answered: another one is off for a
tick first."""

SILENT_TICKS = 60
"""How long a host may be silent: 300 ms."""

WIDEST_HALF_US = 0xFFFF

RULE = "rule"
"""Why a force is refused that other functions or a low battery forbid."""


class Bench:
    """`allowed` is what the board says of itself: "none", "off" or "on". `force` is what the logic
    gets in the tick to come."""

    def __init__(self, plan: Plan, allowed: str) -> None:
        self.allowed = allowed
        self.inputs_are_ours = False
        self.force = NO_FORCE
        self.restart_asked = False
        self.forget_asked = False
        self._plan = plan
        self.readings: dict[int, int] = {}
        self._pulses: list[tuple[int, int]] = []
        self._armed: int | None = None
        self._armed_at = 0
        self._heard_at = 0
        self._barred = False
        self._asked: tuple[int, int] | None = None

    def hear(self, now: int) -> None:
        """A good line has come."""
        self._heard_at = now

    def end_tick(self, now: int, *, force_is_barred: bool) -> tuple[int, str] | None:
        """Ends what is kept from what it is forced into, and what has lasted long enough. Gives the
        number of a line whose answer is known now, and the reason why not, or ""."""
        if force_is_barred:
            self.free()
            self._barred = True
        if now + 1 - self._heard_at >= SILENT_TICKS or now + 1 - self._armed_at >= FORCED_TICKS:
            self.free()
        if self._asked is None or now - self._asked[1] < ANSWER_TICKS - 1:
            return None
        (number, _), self._asked = self._asked, None
        return number, RULE if self._barred else ""

    def free(self) -> None:
        """Ends a force, and what was armed."""
        self.force = NO_FORCE
        self._armed = None

    def pulses(self) -> list[tuple[int, int]]:
        """The pulses for this tick; `readings` hold until others come."""
        pulses, self._pulses = self._pulses, []
        return pulses

    def obey(self, number: int, words: str, now: int) -> str | None:
        """Does as line `number` says. Gives the reason why not, or ""; None if `end_tick` will."""
        kind, *tokens = words.split(" ")
        if kind == "here" and not tokens:
            return ""
        if kind not in ("bench", "p", "arm", "force", "free", "restart"):
            return "word"
        if self.allowed != BENCH_ON:
            return "bench"
        if kind == "p":
            return self._take_pulses(tokens)
        if words == "bench on":
            self.inputs_are_ours = True
        elif words == "free":
            self.free()
        elif words in ("restart", "restart forget"):
            self.restart_asked = True
            self.forget_asked = words == "restart forget"
        elif kind == "arm" and len(tokens) == 1 and tokens[0].isdecimal():
            return self._arm(int(tokens[0]), now)
        elif kind == "force" and len(tokens) == 2 and all(one.isdecimal() for one in tokens):
            return self._force(number, int(tokens[0]), int(tokens[1]), now)
        else:
            return "word"
        return ""

    def _take_pulses(self, tokens: list[str]) -> str:
        pulses = [pulse_of(token) for token in tokens]
        readings = [reading_of(token) for token in tokens]
        if not tokens or not all(one or two for one, two in zip(pulses, readings, strict=True)):
            return "word"
        if not self.inputs_are_ours:
            return "bench"
        good_pulses = [pulse for pulse in pulses if pulse]
        good_readings = [reading for reading in readings if reading]
        if any(
            source >= len(self._plan.inputs) or not 0 < width <= WIDEST_HALF_US
            for source, width in good_pulses
        ) or any(
            sensor >= len(self._plan.sensors) or reading > MOST_COUNTS
            for sensor, reading in good_readings
        ):
            return "range"
        self._pulses += good_pulses
        self.readings.update(good_readings)
        return ""

    def _arm(self, function: int, now: int) -> str:
        if function >= len(self._plan.functions):
            return "range"
        self._armed = function
        self._armed_at = now
        self._barred = False
        return ""

    def _force(self, number: int, function: int, state: int, now: int) -> str | None:
        if function >= len(self._plan.functions):
            return "range"
        if state >= len(self._plan.functions[function].forces):
            return "range"
        forced = forced_by(self.force)
        is_armed = function == self._armed and now - self._armed_at < ARMED_TICKS
        if not is_armed and (forced is None or function != forced[0]):
            return RULE if self._barred else "arm"
        self.force = force_of(function, state)
        self._asked = (number, now)
        return None
