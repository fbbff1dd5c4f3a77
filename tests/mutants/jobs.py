"""What mutants are judged by: drawn plans, what thumbs do to them, and what the model makes of
it."""

from __future__ import annotations

import functools
import pickle
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.boards import load_board
from gen.render import render
from host_tools.agree import first_difference
from host_tools.logic import LogicRung
from host_tools.model import Model
from host_tools.thumbs import random_trace
from tests.bad_rounds import bad_rounds
from tests.plans import random_plan

if TYPE_CHECKING:
    from pathlib import Path

    from gen.plan import Plan
    from host_tools.record import Record

TICKS = (3_000, 20_000, 20_000)
"""Of the traces that each plan is driven with, the shortest first."""

PLAIN, IN_TURN = 0, 2
"""Two plans for each behaviour: with channels on pins of their own, and with shared ones and
sum signals."""

MORE_AUTOS = (503, 504, 505)
"""An auto waits for what a sensor seldom says for long: more plans meet it resting."""

FULL = f"toggle {IN_TURN}"
"""The plan that is given so many bad rounds and frames that their counts are full."""

FAVOURS = (
    *("toggle", "momentary", "pulse", "winch", "follow", "auto"),
    *("step", "rhythm", "sequence", "dimmer"),
)


@dataclass(frozen=True)
class Job:
    """A plan, and what the sound model makes of each of its traces."""

    name: str
    plan: Plan
    records: tuple[Record, ...]

    @functools.cached_property
    def sketch(self) -> dict[str, str]:
        """The sound sketch."""
        return render(self.plan, load_board("mega"))


def names() -> list[tuple[str, str, int, bool]]:
    """Name, favoured behaviour, seed, and whether channels are shared or in a sum signal."""
    every = [
        (f"{favour} {number}", favour, 100 * place + number, number == IN_TURN)
        for number in (PLAIN, IN_TURN)
        for place, favour in enumerate(FAVOURS)
    ]
    more = [(f"auto {seed}", "auto", seed, False) for seed in MORE_AUTOS]
    return [*every, *more]


def made(folder: Path, name: str, favour: str, seed: int, *, in_turn: bool) -> Job:
    """A job, from the folder if it is there already. The sound logic must agree with the model."""
    place = folder / f"{name.replace(' ', '-')}.pickle"
    if place.exists():
        with place.open("rb") as kept:
            job: Job = pickle.load(kept)  # noqa: S301 - our own, written below
        return job
    plan = random_plan(seed, functions=8, favour=favour, in_turn=in_turn)
    records = []
    with LogicRung(plan, render(plan, load_board("mega")), ("-O0", "-w")) as logic:
        traces = [random_trace(plan, ticks, seed + number) for number, ticks in enumerate(TICKS)]
        if name == FULL:
            traces[1] = bad_rounds(plan)
        for trace in traces:
            record = logic.run(trace)
            difference = first_difference(Model(plan).run(record.trace), record)
            if difference is not None:
                raise RuntimeError(f"{name}: model and logic differ before anything was changed")
            records.append(record)
    job = Job(name, plan, tuple(records))
    with place.open("wb") as kept:
        pickle.dump(job, kept)
    return job


def all_jobs(folder: Path) -> list[Job]:
    """Every job; made once in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    return [made(folder, name, favour, seed, in_turn=turn) for name, favour, seed, turn in names()]
