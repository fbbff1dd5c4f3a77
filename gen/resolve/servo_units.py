"""Which timer makes each servo's pulses.

A compare output of a 16-bit timer makes them without the processor's help and without jitter, so it
is taken wherever the pin has one. Servos on other pins are switched by the processor, which takes a
whole timer of the board for them; a servo on a pin of that timer then has none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.boards import Board, Pin
    from gen.diagnostics import Problems
    from gen.ship import ServoItem

SOFTWARE = "software"


def servo_units(
    servos: Sequence[tuple[ServoItem, Pin]], board: Board, problems: Problems
) -> dict[str, str]:
    """The unit of each servo by its name: "OC1A" …, or SOFTWARE; each conflict noted."""
    units = {item.name.value: pin.compare or SOFTWARE for item, pin in servos}
    in_software = [item for item, pin in servos if pin.compare is None]
    taken = board.software_servos_take if in_software else None
    used = {pin.name for _, pin in servos}
    free = [
        pin.name
        for pin in board.pins.values()
        if pin.compare is not None and pin.servo_timer != taken and pin.name not in used
    ]
    hint = f"free pins of other timers: {', '.join(free)}" if free else ""
    for item in in_software[board.software_servos_most :]:
        problems.add(
            "too-many-servos",
            item.pin.place,
            f"output {show(item.name.value)}: no timer is left for it",
            got=show(item.pin.text),
            expected=f"at most {board.software_servos_most} servos on pins without a 16-bit timer",
            hint=hint,
        )
    for item, pin in servos:
        if pin.compare is not None and pin.servo_timer == taken:
            problems.add(
                "timer-taken",
                item.pin.place,
                f"output {show(item.name.value)}: the timer of its pin is taken by the servo "
                f"{show(in_software[0].name.value)} on {in_software[0].pin.value}",
                got=f"{pin.name}, {pin.compare} ({board.chip} datasheet, Timer/Counter{taken})",
                hint=hint,
            )
    return units
