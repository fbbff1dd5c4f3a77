"""What is always visible, as the page gets it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from host_tools.bench.following import SAME
from host_tools.bench.source import WRONG
from host_tools.model.stepwise import ALIVE, NEVER

if TYPE_CHECKING:
    from host_tools.bench.bench import Bench
    from host_tools.bench.following import Following
    from host_tools.model.stepwise import Looks

Json = dict[str, Any]


def state_of(bench: Bench, page: object, following: Following) -> Json:
    """The state of a bench as one page sees it: whether a force is its own is told to each."""
    source = bench.source
    link, allowed = source.link, source.allowed
    agreement = source.agreement
    radio, seen = source.radio, bench.seen
    tape = seen.tape
    plan_is_files = following.state == SAME and link.plan_id in ("", source.plan.plan_id)
    return {
        "t": "state",
        "source": source.kind,
        "where": source.where,
        "link": WRONG if bench.trouble else link.state,
        "link_why": bench.trouble or link.why,
        "board_plan": link.plan_id,
        "plan_is_files": plan_is_files,
        "board_ship": link.ship,
        "agreement": None
        if agreement is None
        else {
            "compared_ticks": agreement.compared,
            "differences": int(bool(agreement.first)),
            "first": agreement.first,
            "waits": agreement.waits,
            "starts": agreement.starts,
        },
        "signal": _signal(bench.looks),
        "bench": {"allowed": allowed.force, "why": allowed.why, "inputs": allowed.inputs},
        "can": {
            "move": allowed.move,
            "fault": allowed.fault,
            "force": allowed.force,
            "trial": allowed.move or allowed.force,
            "stall": allowed.fault,
            "sense": allowed.move,
            "restart": allowed.restart,
        },
        "faults": {
            "lost": radio.lost,
            "noise_half_us": radio.noise_half_us,
            "drop_percent": radio.drop_percent,
            "stalled": sorted(bench.working.stalled),
        },
        "recording": {
            "on": seen.is_recording,
            # In seconds: the page counts on by itself.
            "ticks": tape.ticks // 200 * 200 if tape is not None else 0,
            "from_power_up": tape is not None and tape.from_power_up,
            "full": seen.is_full,
        },
        "seen_ticks": seen.minute_ticks // 200 * 200,
        "trial": bench.trying.state(),
        "force": _force(bench, page),
        "file": {"state": following.state, "problems": following.problems},
        "pages": len(bench.pages),
    }


def _signal(looks: Looks | None) -> str:
    states = {state for state, _ in looks.channels} if looks is not None else set()
    if not states or states == {NEVER}:
        return "never"
    if states == {ALIVE}:
        return "all"
    return "some" if ALIVE in states else "none"


def _force(bench: Bench, page: object) -> Json | None:
    forcing = bench.forcing
    if forcing.owner is None:
        return None
    # Told in whole seconds: the page counts down by itself.
    left = -(-forcing.left_ticks // 200) * 200
    return {
        "function": forcing.function,
        "state": forcing.state,
        "mine": forcing.owner is page,
        "left_ticks": left,
    }
