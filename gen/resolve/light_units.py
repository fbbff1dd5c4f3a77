"""Which timer dims each light.

An output of an 8-bit timer that nothing else uses does it without the processor's help; so does one
of a 16-bit timer that makes no servo pulses. Lights on other pins are switched by the processor.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.resolve.servo_units import SOFTWARE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from gen.boards import Board, Pin
    from gen.diagnostics import Problems
    from gen.plan import Servo
    from gen.ship import DimmerItem

SOFTWARE_LIGHTS_MOST = 8
"""Each takes up to 30 us of a tick's wait."""


def light_units(
    lights: Sequence[tuple[DimmerItem, Pin]],
    servos: Iterable[Servo],
    board: Board,
    problems: Problems,
) -> dict[str, str]:
    """The unit of each light by its name: "OC2B" …, or SOFTWARE; what is too many is noted."""
    busy = {int(servo.unit[2]) for servo in servos if servo.unit != SOFTWARE}
    busy.add(board.time_base.number)
    units = {item.name.value: _unit(pin, busy) for item, pin in lights}
    in_software = [item for item, _ in lights if units[item.name.value] == SOFTWARE]
    for item in in_software[SOFTWARE_LIGHTS_MOST:]:
        problems.add(
            "too-many-dimmers",
            item.pin.place,
            f"output {show(item.name.value)}: no timer is left for it",
            got=show(item.pin.text),
            expected=f"at most {SOFTWARE_LIGHTS_MOST} dimmers on pins without a free timer",
        )
    return units


def _unit(pin: Pin, busy: set[int]) -> str:
    if pin.dims is not None:
        return pin.dims
    if pin.compare is not None and pin.servo_timer not in busy:
        return pin.compare
    return SOFTWARE
