"""Controls, sensors and faults in the page's hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Winch
from gen.plan import MOST_COUNTS, DigitalSensor, Felt
from host_tools.bench.asked import Not
from host_tools.bench.describe import SPRUNG
from host_tools.bench.news import as_shown
from host_tools.sensing import rest_reading

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from gen.plan import Plan
    from host_tools.bench.asked import Asked, Json
    from host_tools.bench.currents import Currents
    from host_tools.bench.source import Source

MOST_NOISE_HALF_US = 400
NARROWEST_HALF_US, WIDEST_HALF_US = 200, 6_000
"""What a control can be moved to: well beyond every valid pulse."""

NOT_WORKED = "the ship is worked by its own receiver now"


def may_stall(plan: Plan, currents: Currents) -> frozenset[int]:
    """The functions with a motor that can be held fast: its load says what it then takes, or a
    sensor is told of."""
    felt = [
        index
        for index, one in enumerate(plan.functions)
        if isinstance(one, Winch) and isinstance(one.stall, Felt)
    ]
    return currents.may_stall | frozenset(felt)


class Working:
    """`say` takes words for the log, `may_stall` are the functions with a motor that can be held
    fast."""

    def __init__(
        self, source: Source, say: Callable[[str, str], None], may_stall: Collection[int]
    ) -> None:
        self.stalled: set[int] = set()
        self._may_stall = may_stall
        self._source = source
        self._say = say
        self._held: dict[int, object] = {}

    def commands(self) -> dict[str, Callable[[object, Asked], Json]]:
        """What a page can ask for."""
        return {
            "move": self.move,
            "sense": self.sense,
            "signal": self.signal,
            "noise": self.noise,
            "drop": self.drop,
            "stall": self.stall,
        }

    def move(self, page: object, asked: Asked) -> Json:
        """A control goes where it is moved; one that springs back is the page's until it does."""
        plan, radio = self._source.plan, self._source.radio
        index = asked.one_of("control", len(plan.controls))
        control = plan.controls[index]
        if asked.has("half_us"):
            half_us = asked.whole("half_us", NARROWEST_HALF_US, WIDEST_HALF_US)
            rests = False
        else:
            position = asked.one_of("position", len(control.positions))
            rests = position == control.rest
            half_us = 0
        asked.finish()
        self._may(self._source.allowed.move)
        if half_us:
            radio.move(index, half_us)
        elif rests:
            radio.rest(index)
        else:
            radio.put(index, position)
        self._held.pop(index, None)
        if control.kind in SPRUNG and not rests:
            self._held[index] = page
        return {}

    def sense(self, _: object, asked: Asked) -> Json:
        """A sensor's pin says something else."""
        sensors = self._source.plan.sensors
        index = asked.one_of("sensor", len(sensors))
        contact = isinstance(sensors[index], DigitalSensor)
        reading = asked.whole("reading", 0, 1 if contact else MOST_COUNTS)
        asked.finish()
        self._may(self._source.allowed.move)
        self._source.radio.feel(index, as_shown(sensors[index], reading))
        return {}

    def signal(self, _: object, asked: Asked) -> Json:
        """The transmitter goes, or is there again."""
        channels = self._source.plan.channels
        lost = asked.flag("lost")
        which = asked.several_of("channels", len(channels))
        asked.finish()
        self._may(self._source.allowed.fault)
        radio = self._source.radio
        (radio.lose if lost else radio.restore)(which)
        on = (
            ""
            if len(which) == len(channels)
            else " on " + ", ".join(channels[i].name for i in which)
        )
        self._say("fault", f"the signal is {'taken away' if lost else 'given back'}{on}")
        return {}

    def noise(self, _: object, asked: Asked) -> Json:
        """Every pulse is off by as much either way, and now and then a stray one comes."""
        half_us = asked.whole("half_us", 0, MOST_NOISE_HALF_US)
        asked.finish()
        self._may(self._source.allowed.fault)
        self._source.radio.noise_half_us = half_us
        self._say("fault", f"noise of {half_us / 2:g} us on every pulse" if half_us else "no noise")
        return {}

    def drop(self, _: object, asked: Asked) -> Json:
        """So many pulses never come."""
        percent = asked.whole("percent", 0, 100)
        asked.finish()
        self._may(self._source.allowed.fault)
        self._source.radio.drop_percent = percent
        self._say("fault", f"{percent} % of the pulses are dropped")
        return {}

    def stall(self, _: object, asked: Asked) -> Json:
        """A motor is held fast: its current rises, and so does what senses that."""
        functions = self._source.plan.functions
        index = asked.one_of("function", len(functions))
        held = asked.flag("on")
        asked.finish()
        self._may(self._source.allowed.fault)
        if index not in self._may_stall:
            raise Not(
                "not-now", f"{functions[index].name} has no motor that the ship file tells of"
            )
        self._feel_stall(index, held=held)
        (self.stalled.add if held else self.stalled.discard)(index)
        words = "is held fast" if held else "is free to turn"
        self._say("fault", f"{functions[index].name} {words}")
        return {}

    def left(self, page: object) -> None:
        """What a page held springs back when it goes."""
        for control in [one for one, by in self._held.items() if by is page]:
            del self._held[control]
            self._source.radio.rest(control)

    def rest(self) -> None:
        """Everything is let go, and every fault is over."""
        self._held.clear()
        radio, plan = self._source.radio, self._source.plan
        for control in range(len(plan.controls)):
            radio.rest(control)
        radio.restore(range(len(plan.channels)))
        radio.noise_half_us = radio.drop_percent = 0
        for function in self.stalled:
            self._feel_stall(function, held=False)
        self.stalled.clear()

    def _feel_stall(self, function: int, *, held: bool) -> None:
        winch = self._source.plan.functions[function]
        if isinstance(winch, Winch) and isinstance(winch.stall, Felt):
            sensor = winch.stall.sensor
            rest = rest_reading(self._source.plan, sensor)
            fast = (winch.stall.low + winch.stall.high) // 2
            fast = as_shown(self._source.plan.sensors[sensor], fast)
            self._source.radio.feel(sensor, fast if held else rest)

    def _may(self, allowed: bool) -> None:
        if not allowed:
            raise Not("not-now", self._source.allowed.why or NOT_WORKED)
