"""What there is to learn from: one trace, or several of one radio behind one another, with their
steps; and what is refused before anything is learned from it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_MS
from host_tools.learn.steps import MOVE, OFF, STILL, Step, steps_in
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from host_tools.learn.totals import SumFound

LEAST_TICKS = 10_000 // TICK_MS
"""Ten seconds: less shows no lever's ends."""

BETWEEN_TICKS = 400
"""The silence that is put between two recordings."""

PULSES_LEAST = 20


class CannotLearn(Exception):  # noqa: N818 - named after what happened
    """Nothing can be learned; `code` is a key of gen.codes.CODES, `hint` says how to record it."""

    def __init__(self, code: str, what: str, hint: str) -> None:
        super().__init__(what)
        self.code = code
        self.what = what
        self.hint = hint


@dataclass(frozen=True, eq=False)
class Recording:
    """A trace and what was done while it was recorded."""

    trace: Trace
    steps: tuple[Step, ...]
    sums: Mapping[str, SumFound] = field(default_factory=dict)
    """What raw edges have already told of columns that are sum signals."""

    @classmethod
    def of(
        cls,
        traces: Sequence[Trace],
        steps: Sequence[Step] = (),
        sums: Mapping[str, SumFound] | None = None,
    ) -> Recording:
        """These traces, one behind the other, with the steps that their sources tell of and
        further ones, which count from the beginning of the first. Raises CannotLearn."""
        first = traces[0]
        if any(trace.channels != first.channels for trace in traces):
            raise CannotLearn(
                "learn-contradicts",
                "the traces have other channels than each other",
                "give traces of one receiver, recorded with the same plugs on the same pins",
            )
        told: list[Step] = list(steps)
        at, widths, begins = [], [], 0
        for trace in traces:
            told += [
                replace(one, begin=one.begin + begins, end=one.end + begins)
                for one in _known_steps(trace)
            ]
            at.append(trace.at + begins)
            widths.append(trace.widths_half_us)
            begins += trace.ticks + BETWEEN_TICKS
        whole = Trace(
            begins - BETWEEN_TICKS,
            first.channels,
            np.concatenate(at),
            np.vstack(widths),
            first.ship,
            first.plan_id,
            first.source,
        )
        made = cls(whole, tuple(sorted(told, key=lambda one: one.begin)), sums or {})
        made._refuse()
        return made

    def _refuse(self) -> None:
        if not self.trace.widths_half_us.any():
            raise CannotLearn(
                "learn-nothing",
                "no pulse is in it",
                "switch transmitter and receiver on, and see that the receiver's signal wires are "
                "on the board's pins",
            )
        lasts = self.trace.ticks - sum(end - begin for begin, end in self.off)
        if lasts < LEAST_TICKS:
            raise CannotLearn(
                "learn-short",
                f"it holds {lasts * TICK_MS / 1000:g} s with the transmitter on",
                "record a minute: pinrail learn --port PORT says what to do meanwhile",
            )
        for before, after in zip(self.steps[:-1], self.steps[1:], strict=True):
            if after.begin < before.end:
                raise CannotLearn(
                    "learn-contradicts",
                    f"two steps overlap: '{before.text}' and '{after.text}'",
                    "let each step begin when the one before it has ended",
                )

    @property
    def off(self) -> tuple[tuple[int, int], ...]:
        """The stretches of ticks in which the transmitter is off."""
        return tuple((one.begin, one.end) for one in self.steps if one.what == OFF)

    @property
    def still(self) -> tuple[tuple[int, int], ...]:
        """Those in which nothing is touched."""
        return tuple((one.begin, one.end) for one in self.steps if one.what == STILL)

    @property
    def moves(self) -> tuple[Step, ...]:
        """Those in which one control is moved."""
        return tuple(one for one in self.steps if one.what == MOVE)


def _known_steps(trace: Trace) -> tuple[Step, ...]:
    try:
        return steps_in(trace.source)
    except ValueError as error:
        raise CannotLearn(
            "learn-contradicts",
            f"its source names a step that cannot be read: {error}",
            "write it as 'still 0 s..6 s', 'move davit key 6 s..12 s' or 'off 50 s..60 s'",
        ) from None
