"""A board that is the real sketch in a simulated chip: its own program speaks for itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware.chip import BYTE, EVENT
from host_tools.firmware.pulses import CYCLES_A_TICK, lay_out
from host_tools.firmware.sensors import SensorPins, in_order
from host_tools.link.simulated.wire import Incoming

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from numpy.typing import NDArray

    from host_tools.firmware import FirmwareRung
    from host_tools.firmware.chip import RunningChip
    from host_tools.trace import Trace

BYTE_CYCLES = 1_389
"""What a byte takes on the wire: 10 bits at 115200 baud, of a clock of 16 MHz."""


class ChipBoard:
    """`rung` has the sketch; it is closed with the board. `receives` is called at each plugging in
    for what then comes to the chip's pins; `jumper` is whether that of the bench is fitted."""

    def __init__(
        self,
        rung: FirmwareRung,
        receives: Callable[[], Iterable[Trace]],
        *,
        jumper: bool = True,
    ) -> None:
        self._rung = rung
        self._jumper = jumper
        self._receives = receives
        self._chip: RunningChip | None = None
        self._first_tick = rung.first_tick
        self._incoming = Incoming()

    def power_up(self, cause: str) -> None:
        """Power comes, whatever the cause: the chip itself knows of no other start."""
        del cause
        if self._chip is not None:
            self._chip.close()
        self._chip = self._rung.power_up(jumper=self._jumper)
        self._incoming = Incoming()
        self._cycle = 0
        self._events = _laid_out(self._rung, self._receives(), self._first_tick)
        self._next = next(self._events, None)

    def wants(self) -> int:
        return self._incoming.wants

    def tick(self, data: bytes) -> bytes:
        """As many cycles as a tick has, wherever the chip's own ticks begin."""
        if self._chip is None:
            self.power_up("power")
        assert self._chip is not None  # noqa: S101 - for the type checker: it has just been made
        self._incoming.put(data)
        arrives = np.frombuffer(self._incoming.arrives(), np.uint8)
        heard = np.zeros(len(arrives), BYTE)
        heard["cycle"] = self._cycle + BYTE_CYCLES * (1 + np.arange(len(arrives)))
        heard["value"] = arrives
        self._cycle += CYCLES_A_TICK
        answer = self._chip.run(self._cycle, heard, self._until(self._cycle))
        return bytes(answer.said["value"].tobytes())

    def close(self) -> None:
        if self._chip is not None:
            self._chip.close()
        self._rung.close()

    def _until(self, cycle: int) -> NDArray[np.void]:
        """The events up to this cycle that were not given yet. A trace is asked for only when its
        time has come: whoever makes it tick by tick, in silence too, must not be run ahead of."""
        due = []
        while self._next is not None:
            begins, events = self._next
            if begins > cycle or (len(events) and events["cycle"][0] > cycle):
                break
            count = int(np.searchsorted(events["cycle"], cycle, side="right"))
            due.append(events[:count])
            left = events[count:]
            self._next = (begins, left) if len(left) else next(self._events, None)
        return np.concatenate(due) if due else np.empty(0, EVENT)


def _laid_out(
    rung: FirmwareRung, traces: Iterable[Trace], first_tick: int
) -> Iterator[tuple[int, NDArray[np.void]]]:
    """The edges and readings of one trace after another, each with the cycle at which it begins."""
    sum_signal = rung.plan.sum_signal
    pins = SensorPins(rung.plan)
    latest = 0
    last_edge: int | None = None
    for trace in traces:
        driven = lay_out(
            trace,
            first_tick,
            has_sum=sum_signal is not None,
            falls=sum_signal is not None and sum_signal.falling,
            last_edge=last_edge,
        )
        if len(driven.sum_edges):
            last_edge = int(driven.sum_edges[-1])
        events = in_order(driven.events(), pins.events(trace, first_tick))
        # What a trace has pushed beyond its end goes before what the next one begins with.
        events["cycle"] = np.maximum(events["cycle"], latest)
        latest = int(events["cycle"][-1]) if len(events) else latest
        begins = first_tick - CYCLES_A_TICK
        first_tick += trace.ticks * CYCLES_A_TICK
        yield begins, events
