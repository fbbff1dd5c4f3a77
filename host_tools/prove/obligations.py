"""All that is to be proved of a plan, and what became of each."""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.plan import OPEN
from host_tools.prove.claims import claims_of
from host_tools.prove.claims.working import NeverOn
from host_tools.prove.counts import count_lemmas
from host_tools.prove.forcing import force_lemmas
from host_tools.prove.induction import prove
from host_tools.prove.pulses import channel_lemmas, control_lemmas, sensor_lemmas
from host_tools.prove.refutation import refutation
from host_tools.prove.search import ANY_NUMBER, searches
from host_tools.prove.witness import can_be_worked

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from gen.plan import Plan
    from host_tools.prove.claim import Claim
    from host_tools.prove.lemma import Lemma
    from host_tools.prove.refutation import Refutation

PROVED, REFUTED, UNDECIDED, NOTED = "proved", "refuted", "undecided", "noted"
"""What an obligation comes to. Noted is what is so and harms nobody, such as a spare position."""


@dataclass(frozen=True)
class Outcome:
    """What became of one obligation. `how` says by what it was decided; `certain_ticks` is for how
    long an undecided claim surely holds, for what was tried."""

    kind: str
    text: str
    source_line: int
    verdict: str
    how: str
    seconds: float
    refutation: Refutation | None = None
    certain_ticks: int = 0
    claim: Claim | None = field(default=None, repr=False)


def outcomes(
    plan: Plan,
    rules: Sequence[Claim] = (),
    meant: Plan | None = None,
    only: Iterable[str] = (),
) -> Iterator[Outcome]:
    """Proves all that is to be proved of `plan`, one after another; `rules` are the ship
    file's own. With `meant` the claims are those of that plan, held against what this one does.
    `only` leaves out all obligations whose text has none of these words in it."""
    meant = meant if meant is not None else plan
    words = tuple(only)

    def wanted(text: str) -> bool:
        return not words or any(word in text for word in words)

    for claim in itertools.chain(rules, claims_of(meant)):
        if wanted(claim.text):
            yield decide(plan, claim)
    for lemmas in (
        channel_lemmas(plan, meant),
        control_lemmas(plan),
        sensor_lemmas(plan),
        force_lemmas(plan),
        count_lemmas(plan),
    ):
        yield from (one for one in _of_lemmas(lemmas) if wanted(one.text))
    yield from (one for one in _of_outputs(plan) if wanted(one.text))
    yield from (one for one in _of_positions(plan) if wanted(one.text))
    for index, function in enumerate(plan.functions):
        text = f"{function.name} can be switched on and off again"
        if wanted(text):
            yield _worked(plan, index, text)


def decide(plan: Plan, claim: Claim) -> Outcome:
    """Proves a claim about `plan`, or looks for a way to where it does not hold."""
    began = time.monotonic()
    proof = prove(plan, claim)
    if proof is not None:
        ticks = "one tick" if proof.k == 1 else f"{proof.k} ticks"
        return _outcome(claim, PROVED, f"by induction over {ticks}", began)
    certain, how = 0, ""
    by_hand = plan.bench is None or prove(plan, claim, forces=False) is None
    for found in searches(plan, claim, by_hand=by_hand):
        if found.path is not None:
            way = refutation(plan, claim, found.path)
            if way is not None:
                return _outcome(claim, REFUTED, "seen on the model", began, refuted=way)
            how = "there is a way to it that no transmitter was found to go"
        elif found.whole:
            how = "no state that a hand can reach is against it, but pulses may do more"
        certain = max(certain, found.ticks if found.moves == ANY_NUMBER else 0)
    how = how or f"nothing against it in {certain} ticks from power-up"
    return _outcome(claim, UNDECIDED, how, began, certain_ticks=certain)


def _outcome(
    claim: Claim,
    verdict: str,
    how: str,
    began: float,
    *,
    refuted: Refutation | None = None,
    certain_ticks: int = 0,
) -> Outcome:
    return Outcome(
        kind=claim.kind,
        text=claim.text,
        source_line=claim.source_line,
        verdict=verdict,
        how=how,
        seconds=time.monotonic() - began,
        refutation=refuted,
        certain_ticks=certain_ticks,
        claim=claim,
    )


def _of_lemmas(lemmas: Iterator[Lemma]) -> Iterator[Outcome]:
    began = time.monotonic()
    for lemma in lemmas:
        verdict = PROVED if lemma.proved else UNDECIDED
        how = lemma.how if lemma.proved else "not by one tick alone"
        spent = time.monotonic() - began
        yield Outcome(lemma.kind, lemma.text, lemma.source_line, verdict, how, spent)
        began = time.monotonic()


def _of_outputs(plan: Plan) -> Iterator[Outcome]:
    """Every output has one function."""
    began = time.monotonic()
    for what, names, driven in (
        ("line", [one.name for one in plan.lines], [f.lines for f in plan.functions]),
        ("servo", [one.name for one in plan.servos], [f.servos for f in plan.functions]),
        ("dimmer", [one.name for one in plan.lights], [f.lights for f in plan.functions]),
    ):
        if not names:
            continue
        shared = [
            name for index, name in enumerate(names) if sum(index in mine for mine in driven) > 1
        ]
        text = f"no {what} is driven by two functions"
        verdict = REFUTED if shared else PROVED
        how = f"shared: {', '.join(shared)}" if shared else f"{len(names)} looked at"
        yield Outcome("outputs", text, 0, verdict, how, time.monotonic() - began)


def _of_positions(plan: Plan) -> Iterator[Outcome]:
    """Every position of every control asks somebody for something."""
    began = time.monotonic()
    answers = [one for function in plan.functions for one in function.answers]
    for index, control in enumerate(plan.controls):
        turned = any(one.control == index and one.position is None for one in answers)
        asked = {one.position for one in answers if one.control == index}
        idle = [
            one.name
            for place, one in enumerate(control.positions)
            if place != control.rest and place not in asked
        ]
        text = f"no position of {control.name} does nothing"
        verdict, how = PROVED, "every one is asked for"
        if idle and not turned:
            # One of several may be spare; a control that nothing answers at all is a mistake.
            verdict = NOTED if asked - {control.rest} else REFUTED
            how = f"spare: {', '.join(idle)}"
        spent = time.monotonic() - began
        yield Outcome("positions", text, control.source_line, verdict, how, spent)


def _worked(plan: Plan, index: int, text: str) -> Outcome:
    function = plan.functions[index]
    began = time.monotonic()
    verdict, how = PROVED, "by doing it"
    if not can_be_worked(plan, index):
        never = prove(plan, NeverOn(plan, (index,)))
        verdict = REFUTED if never is not None else UNDECIDED
        how = "it can never be on" if never is not None else "no way to do it was found"
        if never is not None and function.gate != OPEN:
            how += ": what it waits for never comes"
    spent = time.monotonic() - began
    return Outcome("use", text, function.source_line, verdict, how, spent)
