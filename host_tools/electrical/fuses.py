"""Fuses: which one, and how soon it opens.

A fuse protects its wire. It is chosen so that the load runs at no more than three quarters of
its rating, and never above what the wire and the contacts behind it carry. How soon it opens is
a band, not a number: the standard bounds it, the fuse in the holder is somewhere between.
Whatever must not blow is held against the earliest time, whatever must blow against the latest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.figure import MEMORY, PRACTICE, Figure, Given, Input
from host_tools.electrical.interpolate import power_law

if TYPE_CHECKING:
    from collections.abc import Sequence

USED = Given("most of its rating", 0.75, "", f"fuse makers' advice for 25 C {MEMORY}")
"""The share of a fuse's rating that a load may take for hours."""

SURGE = Given("surge lasts", 0.1, "s", f"a cold lamp or a motor that starts: {PRACTICE}")
"""How long what is switched on may draw its surge."""


@dataclass(frozen=True)
class Bound:
    """At a multiple of its rating a fuse opens within these times in s; None is not said."""

    multiple: float
    earliest_s: float | None
    latest_s: float | None


@dataclass(frozen=True)
class FuseKind:
    """A kind of fuse: its ratings in A, its bounds, whose these are, and what its body tells of the
    rating. `blows_at` is the multiple at which the standard says that it does open
    (conventional fusing current)."""

    name: str
    ratings_a: tuple[float, ...]
    bounds: tuple[Bound, ...]
    source: str
    colours: tuple[str, ...] = ()

    @property
    def blows_at(self) -> float:
        """The least multiple of its rating at which it is sure to open."""
        return next(bound.multiple for bound in self.bounds if bound.latest_s is not None)

    def colour(self, rating_a: float) -> str:
        """The colour of a rating; "" if it has none."""
        known = dict(zip(self.ratings_a, self.colours, strict=False))
        return known.get(rating_a, "")

    def earliest_s(self, multiple: float) -> float:
        """Before this it does not open, at a multiple of its rating. Between bounds by power law;
        beyond the last one by what heat it takes (I^2 t); below the first it never opens."""
        known = [(b.multiple, b.earliest_s) for b in self.bounds if b.earliest_s is not None]
        if multiple < known[0][0]:
            return math.inf
        if multiple > known[-1][0]:
            return known[-1][1] * (known[-1][0] / multiple) ** 2
        return power_law(known, multiple)

    def latest_s(self, multiple: float) -> float:
        """After this it has opened. Between bounds by power law, beyond the last one as there;
        below the first one it need not open at all."""
        known = [(b.multiple, b.latest_s) for b in self.bounds if b.latest_s is not None]
        if multiple < known[0][0]:
            return math.inf
        return power_law(known, min(multiple, known[-1][0]))


BLADE = FuseKind(
    "blade",
    (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30),
    (
        Bound(1.10, 360_000, None),
        Bound(1.35, 0.75, 600),
        Bound(1.60, 0.25, 50),  # from memory
        Bound(2.00, 0.15, 5),
        Bound(3.50, 0.04, 0.5),  # the earliest of small ratings from memory; 0.08 of 35 A and 40 A
        Bound(6.00, 0.02, 0.15),  # the earliest from memory
    ),
    "ISO 8820-3 (blade fuses): bounds of opening time",
    (
        "black",
        "grey",
        "violet",
        "pink",
        "tan",
        "brown",
        "red",
        "blue",
        "yellow",
        "natural",
        "green",
    ),
)

_GLASS_A = (
    *(0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8),
    *(1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0),
)
"""The ratings of IEC 60127, the R10 series of ISO 3 (from memory)."""

GLASS_QUICK = FuseKind(
    "glass quick",
    _GLASS_A,
    (
        Bound(1.5, 3600, None),
        Bound(2.1, None, 1800),
        Bound(2.75, 0.05, 2),
        Bound(4.0, 0.01, 0.3),
        Bound(10.0, None, 0.02),
    ),
    "IEC 60127-2, quick-acting: bounds of opening time",
)

GLASS_SLOW = FuseKind(
    "glass slow",
    _GLASS_A,
    (
        Bound(1.5, 3600, None),  # from memory
        Bound(2.1, None, 120),
        Bound(2.75, 0.4, 10),
        Bound(4.0, 0.15, 3),
        Bound(10.0, 0.02, 0.3),  # from memory
    ),
    "IEC 60127-2, time-lag: bounds of opening time",
)

KINDS = {kind.name: kind for kind in (BLADE, GLASS_QUICK, GLASS_SLOW)}
"""Every kind by the word for it in the ship file."""


@dataclass(frozen=True)
class Opening:
    """When a fuse opens at some current: not before `earliest`, and by `latest` (which may never
    be: then it need not open at all)."""

    earliest: Figure
    latest: Figure

    @property
    def in_words(self) -> str:
        """Whether it opens, and when."""
        if math.isinf(self.earliest.value):
            return "never opens"
        if math.isinf(self.latest.value):
            return f"may open after {self.earliest.shown()}, or never"
        return f"opens within {self.earliest.shown()} to {self.latest.shown()}"

    def comes_before(self, limit_s: float) -> bool | None:
        """Whether the fuse opens before something that ends by itself after `limit_s` does; None if
        that depends on the fuse."""
        if self.latest.value < limit_s:
            return True
        return None if self.earliest.value < limit_s else False


def opening(of: str, kind: FuseKind, rating_a: Input, current_a: Input) -> Opening:
    """When a fuse of this rating opens at this current."""
    multiple = current_a.in_unit("A") / rating_a.in_unit("A")
    times = {"earliest": kind.earliest_s(multiple), "latest": kind.latest_s(multiple)}
    earliest, latest = (
        Figure(
            of,
            f"{word} time in which its fuse opens",
            seconds,
            "s",
            "t = bounds by I / rating, power law between them",
            (current_a, rating_a),
            kind.source,
        )
        for word, seconds in times.items()
    )
    return Opening(earliest, latest)


def most_a(of: str, kind: FuseKind, carries_a: Sequence[Input], wire_a: Sequence[Input]) -> Figure:
    """The largest rating that protects all of `wire_a` (what wires carry) and none of which exceeds
    `carries_a` (contacts, switches, terminals). At least one of them is given.

    IEC 60364-4-43, 433.1: In <= Iz, and the current at which the fuse is sure to open is at most
    1.45 * Iz. For blades the second follows from the first; glass tubes, which need 2.1 times their
    rating, must stay at 69 % of what the wire carries.
    """
    share = min(1.0, 1.45 / kind.blows_at)
    allowed = [share * one.in_unit("A") for one in wire_a]
    allowed += [one.in_unit("A") for one in carries_a]
    sure = Given("sure to open at", kind.blows_at, "* rating", kind.source)
    return Figure(
        of,
        "largest fuse",
        min(allowed),
        "A",
        "In = least of what contacts carry and min(1, 1.45 / k) * what wires carry",
        (*wire_a, *carries_a, sure),
        "IEC 60364-4-43, 433.1",
    )


def least_a(of: str, load_a: Input) -> Figure:
    """The smallest rating that carries the load for hours."""
    return Figure(
        of,
        "smallest fuse",
        load_a.in_unit("A") / USED.value,
        "A",
        "In = load / 0.75",
        (load_a, USED),
        USED.source,
    )


@dataclass(frozen=True)
class Chosen:
    """A fuse and why it is that one. `rating` is None if none is large enough for the load and
    small enough for what it protects. `bears_surge` is False if the surge may blow it and no
    larger one is allowed."""

    kind: FuseKind
    rating: Figure | None
    least: Figure
    most: Figure
    bears_surge: bool = True

    @property
    def colour(self) -> str:
        """What its body shows."""
        return self.kind.colour(self.rating.value) if self.rating is not None else ""


def choose(
    of: str, kind: FuseKind, *, load_a: Input, most: Figure, surge_a: Input | None
) -> Chosen:
    """The smallest fuse that carries the load and bears its surge, and is at most `most`; where
    none bears it, the smallest one that carries the load."""
    least = least_a(of, load_a)
    fitting = [one for one in kind.ratings_a if least.value <= one <= most.value]
    if not fitting:
        return Chosen(kind, None, least, most)
    given: tuple[Input, ...] = (least, most)
    formula = "smallest standard rating from smallest to largest fuse"
    bears = True
    if surge_a is not None:
        surge = surge_a.in_unit("A")
        standing = [one for one in fitting if kind.earliest_s(surge / one) >= SURGE.value]
        bears = bool(standing)
        fitting = standing or fitting
        given += (surge_a, SURGE)
        formula += (
            " that surely bears the surge" if bears else "; none of them surely bears the surge"
        )
    rating = Figure(of, "fuse", fitting[0], "A", formula, given, kind.source)
    return Chosen(kind, rating, least, most, bears)


def judge(
    of: str,
    kind: FuseKind,
    rating_a: Input,
    *,
    load_a: Input,
    most: Figure,
    surge_a: Input | None,
) -> Chosen:
    """The same sums for a fuse that the owner chose: the caller compares its rating with `least`
    and `most`."""
    bears = surge_a is None or (
        kind.earliest_s(surge_a.in_unit("A") / rating_a.in_unit("A")) >= SURGE.value
    )
    rating = Figure(of, "fuse", rating_a.value, "A", "as given", (rating_a,), rating_a.source)
    return Chosen(kind, rating, least_a(of, load_a), most, bears)
