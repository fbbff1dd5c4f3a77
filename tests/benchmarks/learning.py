"""Radios that are learned: the scheme, what is said wrongly, the hour that follows, and the time.

`python -m tests.benchmarks.learning COUNT [HOURS]` judges so many radios, and of so many of them
the hour that follows."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

from tests.benchmarks.table import Row, at_most, printed
from tests.radios.draw import draw_radio
from tests.radios.judge import judge
from tests.radios.session import hour
from tests.radios.ship import misread, plan_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.learn.learned import Learned
    from tests.radios.radio import Radio

RADIOS, RADIOS_LONG = 60, 2_000
HOURS, HOURS_LONG = 4, 2_000
SCHEMES_LEAST = 0.99
SECONDS_MOST = 2.0
HOUR_S = 3_600.0


def rows(*, long_run: bool, tell: Callable[[str], None] = lambda _: None) -> list[Row]:
    """The figures of learning."""
    counts = (RADIOS_LONG, HOURS_LONG) if long_run else (RADIOS, HOURS)
    return measured(*counts, tell=tell)


def measured(radios: int, hours: int, *, tell: Callable[[str], None]) -> list[Row]:
    """So many radios, and so many of their hours."""
    schemes = wrong = controls = unsure = levers = presses = 0
    slowest_s = 0.0
    for seed in range(radios):
        radio = draw_radio(seed)
        begin = time.process_time()
        judged, learned, _ = judge(radio)
        slowest_s = max(slowest_s, time.process_time() - begin)
        schemes += judged.scheme
        wrong += len(judged.wrong)
        unsure += judged.unsure
        levers += judged.levers
        for one in judged.wrong:
            tell(f"radio {seed}: {one}")
        if seed < hours and learned is not None:
            counted, known = _hour(radio, learned)
            presses += counted
            controls += known
            if counted:
                tell(f"radio {seed}: {counted} presses misread")
        if seed % 100 == 99:
            tell(f"{seed + 1} radios, {schemes} schemes right, {wrong} wrong, {presses} misread")
    of = f"{radios:,} drawn radios"
    share = schemes / radios
    return [
        Row(
            "learn: scheme of the shared channel exactly right",
            of,
            f"{share:.2%}",
            f">= {SCHEMES_LEAST:.0%}",
            share >= SCHEMES_LEAST,
        ),
        at_most("learn: said wrongly without 'not sure'", of, wrong, 0, ""),
        Row("learn: controls that are not sure", of, f"{unsure} of {levers}"),
        at_most(
            "learn: presses misread in the hour that follows",
            f"{controls} controls of {min(hours, radios):,} radios",
            presses,
            0,
            "",
        ),
        at_most(
            "learn: a minute's trace, played and learned, at most", of, slowest_s, SECONDS_MOST, "s"
        ),
    ]


def _hour(radio: Radio, learned: Learned) -> tuple[int, int]:
    """How many presses the plan of what was learned misreads in an hour, and of how many
    controls."""
    plan = plan_of(learned)
    if plan is None:
        return 0, 0
    settle = max(one.settle_pulses for one in plan.controls)
    every_s = max(radio.cycle_s, radio.frame_us / 1e6)
    played = hour(radio, HOUR_S, hold=2 * settle + 8)
    return len(misread(plan, played, max(1.0, (3 * settle + 10) * every_s))), len(plan.controls)


def main() -> int:
    radios = int(sys.argv[1]) if len(sys.argv) > 1 else RADIOS
    hours = int(sys.argv[2]) if len(sys.argv) > 2 else HOURS
    found = measured(radios, hours, tell=lambda what: print(what, file=sys.stderr, flush=True))
    print(printed(found))
    return 1 if any(row.met is False for row in found) else 0


if __name__ == "__main__":
    sys.exit(main())
