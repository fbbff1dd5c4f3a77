"""A kind of fault: how it is tried once, and how often."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from tests.benchmarks.faults.judge import Outcome
from tests.benchmarks.faults.scene import Scene

Try = Callable[[Scene, int, int], Outcome]
"""One run: a scene, the number of the run, the campaign's seed."""


@dataclass(frozen=True)
class Kind:
    """`runs` are those of the long campaign on each of `scenes`, `few` those of its short share."""

    name: str
    run: Try
    runs: int
    few: int
    scenes: tuple[str, ...] = ("own pins", "sum signal")


def drawn(name: str, number: int, seed: int) -> random.Random:
    """The chances of one run: the same for the same seed, whoever runs it and when."""
    return random.Random(f"{name} {seed} {number}")
