"""What the parts of learning share."""

from __future__ import annotations

import math

MOST_OF_A_WRONG_LENGTH = 1 / math.e
"""Single frames that are amiss make no wrong length more frequent than that: it is the largest
value of Poisson's distribution at 1."""


def binomial_tail(count: int, at_least: int, chance: float) -> float:
    """How likely `at_least` of `count` independent trials succeed, each by `chance`."""
    return math.fsum(
        math.exp(
            math.lgamma(count + 1)
            - math.lgamma(one + 1)
            - math.lgamma(count - one + 1)
            + one * math.log(chance)
            + (count - one) * math.log1p(-chance)
        )
        for one in range(at_least, count + 1)
    )
