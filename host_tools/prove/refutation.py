"""A refutation, as a hand at the transmitter goes it: steps of a trial, real pulses, and the tick
in which the claim does not hold.

The search knows positions and lost channels, frame by frame. What becomes of them on the way
through transmitter, receiver and control takes a few frames more, so that the path is tried with a
few different waits; what counts is only what then happens to the ship, tick by tick. The best of
them is then made shorter until no wait in it can last a tick less.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gen.plan import NO_FORCE, TICK_MS, DigitalSensor, force_of
from gen.read.steps import Trial, Wait
from gen.read.trial_steps import StepError, parse_step
from gen.response import FRAME_TICKS
from gen.units import us_text
from host_tools import trial as trials
from host_tools.model import Model
from host_tools.prove.onlooker import first_failure
from host_tools.prove.system import FORCED, LOST, index_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.plan import Plan
    from gen.read.steps import Step
    from host_tools.prove.claim import Claim
    from host_tools.trace import Trace

LATER_TICKS = (0, 1, 4, 20, 200)
"""How much later a trial looks where what fades or moves has not shown yet what it is told."""


MOST_TRIES = 60
"""So often a way is tried with a shorter wait."""

LET_GO = "force nothing"


@dataclass(frozen=True)
class Refutation:
    """How a claim fails: `steps` are a trial's, in the ship's words, and what a bench forces at the
    beginning of the step that follows; the pulses are in `trace`, and in its tick `tick` the claim
    does not hold. `trial` falls short there (None: no trial can say it, as it shows for less than a
    step lasts, or takes a bench). `to_the_tick`: no single wait in it can be a tick shorter; else
    it was given up making it so."""

    steps: tuple[str, ...]
    trace: Trace
    tick: int
    trial: Trial | None
    to_the_tick: bool = False


def refutation(plan: Plan, claim: Claim, path: Sequence[dict[str, int]]) -> Refutation | None:
    """The refutation that a path of the search leads to; None if the ship does not go there."""
    best: tuple[tuple[bool, int], _Walk] | None = None
    tried: set[tuple[str, ...]] = set()
    for waits in _waits(len(_runs(path))):
        texts = tuple(_steps(plan, path, waits))
        if texts in tried:
            continue
        tried.add(texts)
        walk = _walk(plan, claim, texts)
        failed = walk.fails(plan, claim) if walk is not None else None
        if walk is None or failed is None:
            continue
        walk = walk.until(plan, failed[0])
        rank = _failing(plan, claim, walk, failed[1]) is None, failed[0]
        if best is None or rank < best[0]:
            best = rank, walk
    if best is None:
        return None
    walk, to_the_tick = _shortest(plan, claim, best[1], can_be_told=not best[0][0])
    failed = walk.fails(plan, claim)
    assert failed is not None  # noqa: S101 - only such walks are kept
    walk = walk.until(plan, failed[0])
    told = _failing(plan, claim, walk, failed[1])
    if told is not None:
        walk = replace(walk, trial=told)
    return Refutation(walk.texts, walk.trace(plan), failed[0], told, to_the_tick)


def _shortest(plan: Plan, claim: Claim, walk: _Walk, *, can_be_told: bool) -> tuple[_Walk, bool]:
    """The same walk with each wait as short as it can be, and whether it was made so. What a trial
    could tell, it still can."""
    tries = MOST_TRIES

    def still(shorter: _Walk) -> bool:
        nonlocal tries
        tries -= 1
        failed = shorter.fails(plan, claim)
        if failed is None:
            return False
        cut = shorter.until(plan, failed[0])
        return not can_be_told or _failing(plan, claim, cut, failed[1]) is not None

    changed = True
    while changed and tries > 0:
        changed = False
        for place, step in enumerate(walk.trial.steps):
            if not isinstance(step, Wait):
                continue
            fails, holds = step.ticks, 0
            while fails - holds > 1 and tries > 0:
                # The first thing to try is a tick less: mostly there is nothing to be gained.
                less = fails - 1 if fails == step.ticks else (fails + holds) // 2
                shorter = walk.with_wait(plan, place, less)
                if still(shorter):
                    fails, walk, changed = less, shorter, True
                elif fails == step.ticks:
                    break
                else:
                    holds = less
    return walk, not changed


@dataclass(frozen=True)
class _Walk:
    """The steps of a trial, and what the bench forces (a reading, in words) at the beginning of a
    step, by that one's place."""

    trial: Trial
    forces: tuple[tuple[int, str, int], ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """All that is done, in order."""
        steps = self.trial.steps
        texts: list[str] = []
        for place in range(len(steps) + 1):
            texts += [text for at, text, _ in self.forces if at == place]
            texts += [step.text for step in steps[place : place + 1]]
        return tuple(texts)

    def trace(self, plan: Plan) -> Trace:
        """Its pulses and readings."""
        scripted = trials.script(plan, self.trial)
        if not self.forces:
            return scripted.trace
        ticks, sensors, readings = scripted.trace.felt
        felt = list(zip(ticks.tolist(), sensors.tolist(), readings.tolist(), strict=True))
        felt += [
            (scripted.events[place].tick, len(plan.sensors), reading)
            for place, _, reading in self.forces
            if place < len(scripted.events)
        ]
        return scripted.trace.with_readings(plan.readings, felt)

    def fails(self, plan: Plan, claim: Claim) -> tuple[int, tuple[int, ...]] | None:
        """As `first_failure` of its trace."""
        return first_failure(plan, claim, self.trace(plan))

    def until(self, plan: Plan, tick: int) -> _Walk:
        """The steps up to the one in which the tick lies; a wait ends with it."""
        events = trials.script(plan, self.trial).events
        kept = [event for event in events if event.tick <= tick]
        steps = [event.step for event in kept]
        forces = tuple(one for one in self.forces if one[0] < len(steps))
        cut = _Walk(replace(self.trial, steps=tuple(steps)), forces)
        if steps and isinstance(steps[-1], Wait):
            return cut.with_wait(plan, len(steps) - 1, tick - kept[-1].tick + 1)
        return cut

    def with_wait(self, plan: Plan, place: int, ticks: int) -> _Walk:
        """The same with another wait."""
        steps = list(self.trial.steps)
        steps[place] = parse_step(f"wait {_seconds(ticks)}", self.trial.source_line, plan)
        return replace(self, trial=replace(self.trial, steps=tuple(steps)))


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
    forced = choice.get(f"{FORCED}function", 0), choice.get(f"{FORCED}state", 0)
    if forced != (now.get(f"{FORCED}function", 0), now.get(f"{FORCED}state", 0)):
        reading = force_of(forced[0] - 1, forced[1]) if forced[0] else NO_FORCE
        yield next(text for text, one in _force_words(plan).items() if one == reading)
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


def _walk(plan: Plan, claim: Claim, texts: Sequence[str]) -> _Walk | None:
    """These steps; None if a trial cannot say one of them."""
    forces = _force_words(plan)
    steps: list[Step] = []
    forced: list[tuple[int, str, int]] = []
    try:
        for text in texts:
            if text in forces:
                forced.append((len(steps), text, forces[text]))
            else:
                steps.append(parse_step(text, claim.source_line, plan))
    except StepError:
        return None
    trial = Trial(f"refuted: {claim.text}", tuple(steps), claim.source_line)
    return _Walk(trial, tuple(forced))


def _force_words(plan: Plan) -> dict[str, int]:
    """What a bench can force, in words, and the reading that says so."""
    words = {
        f"force {function.name} {state}": force_of(index, number)
        for index, function in enumerate(plan.functions)
        for number, state in enumerate(function.forces)
    }
    return {LET_GO: NO_FORCE} | words if plan.bench is not None else {}


def _failing(plan: Plan, claim: Claim, walk: _Walk, before: tuple[int, ...]) -> Trial | None:
    """The trial with what it expects at its end, if that falls short of it."""
    if walk.forces:
        return None
    model = Model(plan)
    expected = claim.expected(before)
    for later in LATER_TICKS:
        texts = [f"wait {_seconds(later)}"] if later else []
        texts.append(f"expect {expected}")
        try:
            more = tuple(parse_step(text, claim.source_line, plan) for text in texts)
        except StepError:
            return None
        made = replace(walk.trial, steps=(*walk.trial.steps, *more))
        if trials.run(plan, made, model):
            return made
    return None


def _seconds(ticks: int) -> str:
    whole, rest_ms = divmod(ticks * TICK_MS, 1000)
    return f"{whole}.{rest_ms:03} s"
