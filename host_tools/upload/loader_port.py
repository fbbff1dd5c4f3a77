"""The port of a boot loader that has one of its own: chips with USB on them change ports when they
change programs.

A sketch that has USB itself starts the loader when its port is opened at 1200 baud and closed
again (the board makers' core, CDC.cpp). Pinrail's sketches leave USB alone; there the reset button
does it. The loader waits about 8 s for somebody to speak to it (the core's Caterina.c).
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from host_tools.link.errors import LinkError
from host_tools.link.ports import found_ports, touch

if TYPE_CHECKING:
    from collections.abc import Callable

TOUCH_S = 8.0
"""How long after the touch the loader's port may take to come."""

BUTTON_S = 60.0
"""How long a person may take to press a button."""

LOOK_S = 0.1
SETTLE_S = 0.3
"""A port that has just come may not be opened yet: its permissions are set behind it."""

BUTTON = "press the board's reset button now (twice within a second, if once is not enough)"


def devices() -> set[str]:
    """The serial devices on USB."""
    return {port.device for port in found_ports() if port.usb}


def loader_port(
    named: str | None,
    say: Callable[[str], None],
    *,
    clock: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> str:
    """Starts the loader, or asks for that, and waits for its port. `named` is the port of the
    sketch that runs, or None.

    Raises LinkError: `loader-silent` if none comes, and what `touch` raises.
    """
    wait = _Wait(clock, sleep)
    there = devices()
    if named is not None and _touched(named):
        if found := wait.new_port(there, TOUCH_S):
            return found
        say(f"no boot loader was started by {named}")
        there = devices()
    say(BUTTON)
    if found := wait.new_port(there, BUTTON_S):
        return found
    raise LinkError("loader-silent", "no port of a boot loader came", board_fell_short=True)


def _touched(name: str) -> bool:
    """Whether a port was there to be touched: a sketch without USB has none, and the loader's is
    there only while the loader runs."""
    try:
        touch(name)
    except LinkError as error:
        if error.code != "port-missing":
            raise
        return False
    return True


class _Wait:
    def __init__(self, clock: Callable[[], float], sleep: Callable[[float], None]) -> None:
        self._clock = clock
        self._sleep = sleep

    def new_port(self, there: set[str], longest_s: float) -> str:
        """The first port to come that was not there; one that left and came again is new. "" if
        none does."""
        until = self._clock() + longest_s
        while self._clock() < until:
            self._sleep(LOOK_S)
            now = devices()
            if new := sorted(now - there):
                self._sleep(SETTLE_S)
                return new[0]
            there &= now
        return ""
