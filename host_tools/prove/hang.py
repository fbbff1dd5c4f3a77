"""What becomes of a board that hangs: shown in the simulated chip, not by the tick.

A proof about ticks says nothing of a tick that never ends. Then the watchdog resets the chip, which
lets go of every pin; the first instructions make all outputs safe, before memory is set up and
before any interrupt; and what is proved of power-up holds. How long that takes was measured in the
simulated chip, on every board, and `tests/firmware/test_start_and_reset.py` measures it again.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from gen.render import render
from host_tools.prove.obligations import PROVED, UNDECIDED, Outcome

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from gen.boards import Board
    from gen.plan import Plan

MEASURED_MS = 128
"""From the last tick that ended to the reset, on each of `MEASURED_ON`, to a millisecond."""

SAFE_WITHIN_CYCLES = 100
"""From the first instruction after a reset until every output is safe, at most."""

MEASURED_ON = ("mega", "micro", "nano")


def hang_outcomes(plan: Plan, board: Board) -> Iterator[Outcome]:
    """One for the board of a plan."""
    began = time.monotonic()
    dog = board.watchdog
    text = (
        f"a board that hangs is reset within {dog.latest_ms} ms: then every pin is let go, and the"
        " ship begins as at power-up"
    )
    if any(not register.blank for register in plan.registers):
        text += f"; what hangs on a shift register without `blank` is off {dog.reset_ms} ms later"
    if board.name not in MEASURED_ON:
        verdict, how = UNDECIDED, "nobody has measured it on this board"
    elif wrong := amiss(render(plan, board)):
        verdict, how = UNDECIDED, f"this sketch is not the one that was measured: {wrong}"
    else:
        verdict = PROVED
        how = (
            f"{MEASURED_MS} ms in the simulated chip, which a test measures anew; {dog.clause},"
            " an oscillator a fifth slower reckoned with"
        )
    yield Outcome("hang", text, 0, verdict, how, time.monotonic() - began)


def amiss(sketch: Mapping[str, str]) -> str:
    """What a sketch lacks of what was measured; "" if nothing."""
    text = "".join(one for name, one in sketch.items() if name.endswith((".h", ".cpp", ".ino")))
    if text.count("wdt_enable(WDTO_120MS);") != 1:
        return "it does not set the watchdog once"
    if text.count("wdt_disable();") != 1:
        return "it switches the watchdog off elsewhere than at the very start"
    done = sketch["src/board/board.cpp"].partition("void tick_done() {")[2]
    if not done.lstrip().startswith("wdt_reset();"):
        return "it does not feed the watchdog at the end of a tick"
    # The other one waits for the reset that it has asked for.
    if text.count("wdt_reset();") != 1 + sketch["src/board/restarts.cpp"].count("wdt_reset();"):
        return "it feeds the watchdog elsewhere than at the end of a tick"
    start = sketch["src/board/early.cpp"]
    if ".init3" not in start or "wiring::make_outputs_safe();" not in start:
        return "it does not make its outputs safe first of all"
    return ""
