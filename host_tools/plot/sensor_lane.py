"""The lane of a sensor: the voltage that it read, or when its contact was closed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from gen.plan import MOST_COUNTS, AnalogueSensor
from host_tools.plot.lanes import bars, curve, runs
from host_tools.plot.style import INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from gen.plan import Sensor

UV_PER_V = 1_000_000


@dataclass(frozen=True)
class SensorLane:
    """What a sensor's pin said in each tick; shape of `readings`: ticks."""

    sensor: Sensor
    readings: NDArray[np.uint16]

    @property
    def name(self) -> str:
        """What stands before the lane."""
        return self.sensor.name

    @property
    def moves(self) -> bool:
        """Whether it ever read anything else."""
        return len(self.readings) > 0 and bool(np.ptp(self.readings))

    def draw(self, axis: Axes) -> None:
        """Fill one lane."""
        if isinstance(self.sensor, AnalogueSensor):
            self._voltage(axis, self.sensor)
        else:
            closed = self.readings != self.sensor.active_low
            axis.set_ylim(0, 1)
            spans = [(start, end) for start, end in runs(closed) if closed[start]]
            bars(axis, spans, (0.12, 0.88), "closed", len(closed), color=INK)

    def _voltage(self, axis: Axes, sensor: AnalogueSensor) -> None:
        def volts(counts: Any) -> Any:
            return counts * (sensor.full_scale_uv / (MOST_COUNTS + 1) / UV_PER_V)

        low, high = int(self.readings.min()), int(self.readings.max())
        margin = max((high - low) / 8, 1)
        axis.set_ylim(volts(low - margin), volts(high + margin))
        axis.set_yticks([volts(low), volts(high)], [f"{volts(end):.1f} V" for end in (low, high)])
        curve(axis, np.arange(len(self.readings)), self.readings, volts, color=INK, width=1.0)
