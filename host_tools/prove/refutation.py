"""A refutation, as a hand at the transmitter goes it: steps of a trial, real pulses, and the tick
in which the claim does not hold.

The search knows positions and lost channels. What becomes of them on the way through transmitter,
receiver and control takes a few frames more, so that the path is tried with a few different waits;
what counts is only what then happens to the ship, tick by tick.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gen.plan import TICK_MS, DigitalSensor
from gen.read.steps import Trial, Wait
from gen.read.trial_steps import StepError, parse_step
from gen.response import FRAME_TICKS
from gen.units import us_text
from host_tools import trial as trials
from host_tools.model import Model
from host_tools.prove.onlooker import first_failure
from host_tools.prove.system import LOST, index_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.plan import Plan
    from gen.read.steps import Step
    from host_tools.prove.claim import Claim
    from host_tools.trace import Trace

LATER_TICKS = (0, 1, 4, 20, 200)
"""How much later a trial looks where what fades or moves has not shown yet what it is told."""


@dataclass(frozen=True)
class Refutation:
    """How a claim fails: `steps` are a trial's, in the ship's words; the pulses are in `trace`, and
    in its tick `tick` the claim does not hold. `trial` falls short there (None: no trial can say
    it, as it shows for less than a step lasts)."""

    steps: tuple[str, ...]
    trace: Trace
    tick: int
    trial: Trial | None


def refutation(plan: Plan, claim: Claim, path: Sequence[dict[str, int]]) -> Refutation | None:
    """The refutation that a path of the search leads to; None if the ship does not go there."""
    best: Refutation | None = None
    tried: set[tuple[str, ...]] = set()
    for waits in _waits(len(_runs(path))):
        texts = tuple(_steps(plan, path, waits))
        if texts in tried:
            continue
        tried.add(texts)
        made = _tried(plan, claim, list(texts))
        if made is not None and (best is None or _rank(made) < _rank(best)):
            best = made
    return best


def _rank(made: Refutation) -> tuple[bool, int]:
    """What a trial can say goes first, then what is shortest."""
    return made.trial is None, made.tick


@dataclass(frozen=True)
class _Waits:
    """How long the runs of a path last: all but the last `halves` of their time, the last one
    `more` ticks longer. `reverse`: what is moved at once is moved in the other order."""

    halves: int
    more: int
    reverse: bool = False


def _waits(runs: int) -> Iterator[_Waits]:
    """As found, and with what pulses may need more or less of."""
    for halves in (2, 0) if runs > 1 else (2,):
        for more in (0, 100, 400):
            yield _Waits(halves, more)
            yield _Waits(halves, more, reverse=True)


def _runs(path: Sequence[dict[str, int]]) -> list[tuple[dict[str, int], int]]:
    """What was done, and for how many ticks."""
    runs: list[tuple[dict[str, int], int]] = []
    for choice in path:
        if runs and runs[-1][0] == choice:
            runs[-1] = (choice, runs[-1][1] + FRAME_TICKS)
        else:
            runs.append((choice, FRAME_TICKS))
    return runs


def _steps(plan: Plan, path: Sequence[dict[str, int]], waits: _Waits) -> Iterator[str]:
    runs = _runs(path)
    now: dict[str, int] = {}
    lost: set[int] = set()
    for name in runs[0][0]:
        if name.endswith(".position"):
            now[name] = plan.controls[index_of(name)].rest
        elif name.startswith("s"):
            now[name] = -1
    begun = all(runs[0][0].get(name) == value for name, value in now.items() if name[0] == "k")
    for number, (choice, ticks) in enumerate(runs):
        gone = {index_of(n) for n, v in choice.items() if n.endswith(".phase") and v == LOST}
        said = list(_moves(plan, now, choice, gone))
        if waits.reverse:
            said.reverse()
        now |= choice
        for words, channels in (
            ("lose signal on", gone - lost),
            ("signal returns on", lost - gone),
        ):
            said += [f"{words} {plan.channels[channel].name}" for channel in sorted(channels)]
        yield from said
        if number == 0 and not begun:
            yield "power up"
        least = max((plan.channels[one].lost_after_ticks for one in gone - lost), default=0)
        lost = gone
        last = number == len(runs) - 1
        wait = least + (ticks + waits.more if last else ticks * waits.halves // 2)
        if not said and number == 0 and begun:
            wait = 0  # a trial begins with everything at rest
        if wait:
            yield f"wait {_seconds(wait)}"


def _moves(
    plan: Plan, now: dict[str, int], choice: dict[str, int], gone: set[int]
) -> Iterator[str]:
    """Steps that move controls and set sensors from how they are to how they shall be."""
    for name, value in choice.items():
        if now.get(name) == value or name.endswith(".phase"):
            continue
        index = index_of(name)
        if name.startswith("s"):
            sensor = plan.sensors[index]
            if isinstance(sensor, DigitalSensor):
                yield f"{'close' if value else 'open'} {sensor.name}"
            else:
                volts = value * sensor.full_scale_uv / 1024 / 1_000_000
                yield f"set {sensor.name} to {volts:.3f} V"
            continue
        if not name.startswith("k"):
            continue
        control = plan.controls[index]
        if control.channel in gone:
            continue  # nobody hears it
        if name.endswith(".value"):
            yield f"move {control.name} to {us_text(value)} us"
        elif not control.proportional and value < len(control.positions):
            place = control.positions[value].name
            yield (
                f"release {control.name}"
                if value == control.rest
                else f"hold {control.name} {place}"
            )


def _tried(plan: Plan, claim: Claim, texts: list[str]) -> Refutation | None:
    """What the ship makes of these steps."""
    try:
        steps = tuple(parse_step(text, claim.source_line, plan) for text in texts)
    except StepError:
        return None
    trial = Trial(f"refuted: {claim.text}", steps, claim.source_line)
    scripted = trials.script(plan, trial)
    failed = first_failure(plan, claim, scripted.trace)
    if failed is None:
        return None
    tick, before = failed
    texts, steps = _until(plan, trial, texts, tick)
    cut = replace(trial, steps=steps)
    trace = trials.script(plan, cut).trace
    told = _failing(plan, claim, cut, claim.expected(before))
    if told is not None:
        texts = [step.text for step in told.steps]
        trace = trials.script(plan, told).trace
    return Refutation(tuple(texts), trace, tick, told)


def _until(
    plan: Plan, trial: Trial, texts: list[str], tick: int
) -> tuple[list[str], tuple[Step, ...]]:
    """The steps up to the one in which the tick lies; a wait ends with it."""
    events = trials.script(plan, trial).events
    kept = [event for event in events if event.tick <= tick]
    steps = [event.step for event in kept]
    if steps and isinstance(steps[-1], Wait):
        shorter = tick - kept[-1].tick + 1
        texts = [*texts[: len(steps) - 1], f"wait {_seconds(shorter)}"]
        steps[-1] = parse_step(texts[-1], trial.source_line, plan)
    return texts[: len(steps)], tuple(steps)


def _failing(plan: Plan, claim: Claim, trial: Trial, expected: str) -> Trial | None:
    """The trial with what it expects at its end, if that falls short of it."""
    model = Model(plan)
    for later in LATER_TICKS:
        texts = [f"wait {_seconds(later)}"] if later else []
        texts.append(f"expect {expected}")
        try:
            more = tuple(parse_step(text, claim.source_line, plan) for text in texts)
        except StepError:
            return None
        made = replace(trial, steps=(*trial.steps, *more))
        if trials.run(plan, made, model):
            return made
    return None


def _seconds(ticks: int) -> str:
    whole, rest_ms = divmod(ticks * TICK_MS, 1000)
    return f"{whole}.{rest_ms:03} s"
