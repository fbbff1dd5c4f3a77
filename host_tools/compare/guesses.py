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
    name: str, start: int, runs: Sequence[NDArray[np.int64]], *, flag: bool
) -> Iterator[Guess]:
    """Of the number (or yes and no) of this name, from its values after each tick (ticks, rows)."""
    until = min(still(start, run) for run in runs)
    yield _begins(name, bool(start) if flag else start, until)
    if flag:
        return
    steps = [np.diff(run, axis=0, prepend=start) for run in runs]
    for way in (-1, 1):
        rate = max(int((way * step).max()) for step in steps)
        at = min(_first(way * step == rate) for step in steps)
        yield _within(name, start, way, max(rate, 0), at)
    yield from _running_down(name, start, runs, steps)


def is_equal(names: tuple[str, str], apart: int = 0) -> Guess:
    """A number of the new ship is that of the old one, or always as much more."""
    one, other = names
    text = f"{other} apart by {apart} always" if apart else other.removeprefix("n:")
    return Guess(text, lambda v, _: v[other] - v[one] == apart if apart else v[other] == v[one])


def is_apart(names: tuple[str, str], start: int, apart: int) -> Guess:
    """Both are as they began, or the new ship's number is as much more."""
    one, other = names

    def holds(v: Any, _: Any) -> Any:
        return z3.Or(z3.And(v[one] == start, v[other] == start), v[other] - v[one] == apart)

    return Guess(f"{other} apart by {apart}", holds)


def _begins(name: str, start: int, until: int) -> Guess:
    return Guess(f"{name} still", lambda v, t: z3.Or(t > until, v[name] == start))


def _within(name: str, start: int, way: int, rate: int, at: int) -> Guess:
    """It goes one way no faster than `rate` a tick, and not before so many ticks have passed."""

    def holds(v: Any, t: Any) -> Any:
        gone = z3.If(t > at, (t - at) * rate, 0) if rate else 0
        return v[name] * way <= start * way + gone

    return Guess(f"{name} by {way * rate} a tick", holds)


def _running_down(
    name: str, start: int, runs: Sequence[NDArray[np.int64]], steps: Sequence[NDArray[np.int64]]
) -> Iterator[Guess]:
    """What is set to a number and runs down from there: it has not begun, or was set no sooner."""
    most = max(int(run.max()) for run in runs)
    at = min(_first(run == most) for run in runs)
    rate = _usual_fall(steps)
    if most > start and rate:
        yield Guess(
            f"{name} runs down from {most}",
            lambda v, t: z3.Or(v[name] == start, v[name] >= most - (t - at - 1) * rate),
        )


def in_step(
    names: tuple[str, str], starts: tuple[int, int], runs: Sequence[tuple[Any, Any]]
) -> Iterator[Guess]:
    """Of one number on two ships, each in a unit of its own: they went as many units from where
    they began, or stand as many above 0, and have not run further down than on known ways.
    `runs` are pairs of its values after each tick (ticks, rows)."""
    one, other = names
    steps = [[np.diff(pair[n], axis=0, prepend=starts[n]) for pair in runs] for n in (0, 1)]
    mine, theirs = map(_usual_fall, steps)
    if not mine or not theirs:
        return

    def begun(v: Any) -> Any:
        return (v[one] - starts[0]) * theirs == (v[other] - starts[1]) * mine

    def above(v: Any) -> Any:
        return v[one] * theirs == v[other] * mine

    yield Guess(f"{other} in step", lambda v, _: begun(v))
    yield Guess(f"{other} in step or above 0", lambda v, _: z3.Or(begun(v), above(v)))
    for name, start, unit, fallen in zip(names, starts, (mine, theirs), steps, strict=True):
        far = _within(name, start, -1, unit, min(_first(step == -unit) for step in fallen))
        yield Guess(f"{name} not further down", _either(far.holds, lambda v, _: above(v)))


def _either(one: Callable[[Any, Any], Any], other: Callable[[Any, Any], Any]) -> Any:
    return lambda v, t: z3.Or(one(v, t), other(v, t))


def _usual_fall(steps: Sequence[NDArray[np.int64]]) -> int:
    """By how much it falls in a tick, mostly; 0 if it never does."""
    falls = np.concatenate([step[step < 0] for step in steps])
    values, counts = np.unique(falls, return_counts=True)
    return -int(values[np.argmax(counts)]) if len(values) else 0


def still(start: int, run: NDArray[np.int64]) -> int:
    """For how many ticks it stays as it began."""
    return _first(run != start)


def _first(so: NDArray[np.bool_]) -> int:
    """The first tick in which something is so in any row; that behind the last if it never is."""
    ticks = np.flatnonzero(so.any(axis=1))
    return int(ticks[0]) if len(ticks) else len(so)
