"""Which timer makes each servo's pulses.

A compare output of a 16-bit timer makes them without the processor's help and without jitter, so
it is taken wherever the pin has one. Other pins are switched by the processor, timed by one compare
unit of the time base, which then cannot make pulses on a pin of its own.
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
    free = _free_compares(servos, board)
    most = board.software_servos_most
    for item in in_software[most:]:
        problems.add(
            "too-many-servos",
            item.pin.place,
            f"output {show(item.name.value)}: no timer is left for it",
            expected=f"at most {most} servos on pins without a timer of their own",
            hint=f"pins with one: {', '.join(free)}" if free else "",
        )
    if in_software:
        for item, pin in servos:
            if pin.compare == board.software_servos_take:
                _timer_taken((item, pin), in_software[0], board, free, problems)
    return units


def _timer_taken(
    servo: tuple[ServoItem, Pin],
    other: ServoItem,
    board: Board,
    free: list[str],
    problems: Problems,
) -> None:
    item, pin = servo
    better = f"move {show(other.name.value)} to {free[0]}" if free else ""
    plain = f"move {show(item.name.value)} to a pin without a timer"
    problems.add(
        "timer-taken",
        item.pin.place,
        f"output {show(item.name.value)}: {pin.compare} on this pin times the servo "
        f"{show(other.name.value)} on {other.pin.value}",
        got=show(item.pin.text),
        hint=" or ".join(filter(None, (better, plain)))
        + f"; {board.chip} datasheet, 16-bit Timer/Counter: Output Compare Units",
    )


def _free_compares(servos: Sequence[tuple[ServoItem, Pin]], board: Board) -> list[str]:
    used = {pin.name for _, pin in servos}
    return [
        pin.name
        for pin in board.pins.values()
        if pin.compare not in (None, board.software_servos_take) and pin.name not in used
    ]
