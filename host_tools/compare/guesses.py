"""What may hold of one number that a ship remembers, guessed from ways that are known: nothing is
believed of it before it was proved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import z3

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray


@dataclass(frozen=True)
class Guess:
    """Something that may hold of every state: of all values by name and the ticks that passed."""

    text: str
    holds: Callable[[Any, Any], Any]


def guesses_of(
    name: str, start: int, runs: Sequence[NDArray[np.int64]], flag: bool
) -> Iterator[Guess]:
    """Of the number (or yes and no) of this name, from its values after each tick (ticks, rows)."""
    still = min(_still(start, run) for run in runs)
    begins = bool(start) if flag else start
    yield Guess(f"{name} still", lambda v, t: z3.Or(t > still, v[name] == begins))
    if flag:
        return
    steps = [np.diff(run, axis=0, prepend=start) for run in runs]
    for way in (-1, 1):
        rate = max(int((way * step).max()) for step in steps)
        if rate <= 0:
            yield Guess(f"{name} never {way}", lambda v, _, w=way: v[name] * w <= start * w)
            continue
        at = min(_first(way * step == rate) for step in steps)
        yield Guess(
            f"{name} by {way * rate} a tick",
            lambda v, t, r=rate, b=at, w=way: v[name] * w
            <= z3.If(t > b, start * w + (t - b) * r, start * w),
        )
    yield from _running_down(name, start, runs, steps)


def _running_down(
    name: str, start: int, runs: Sequence[NDArray[np.int64]], steps: Sequence[NDArray[np.int64]]
) -> Iterator[Guess]:
    """What is set to a number and runs down from there: it has not begun, or was set no sooner."""
    most = max(int(run.max()) for run in runs)
    at = min(_first(run == most) for run in runs)
    falls = np.concatenate([step[step < 0] for step in steps])
    if most > start and len(falls):
        values, counts = np.unique(falls, return_counts=True)
        rate = -int(values[np.argmax(counts)])
        yield Guess(
            f"{name} runs down from {most}",
            lambda v, t: z3.Or(v[name] == start, v[name] >= most - (t - at - 1) * rate),
        )


def _still(start: int, run: NDArray[np.int64]) -> int:
    """For how many ticks it stays as it began."""
    return _first(run != start)


def _first(so: NDArray[np.bool_]) -> int:
    """The first tick in which something is so in any row; that behind the last if it never is."""
    ticks = np.flatnonzero(so.any(axis=1))
    return int(ticks[0]) if len(ticks) else len(so)
