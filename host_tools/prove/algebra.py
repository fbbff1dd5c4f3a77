"""The few operations in which a tick is written down, and what they are done on.

A tick is written once and read three ways: with plain integers it is stepped against the model,
with the solver's terms it is proved, with columns of numbers a thousand states are searched at
once. Numbers are added, subtracted and compared by Python's own operators, which all three share;
the rest is here.
"""

from __future__ import annotations

from functools import reduce
from typing import TYPE_CHECKING, Any, Protocol, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Number: TypeAlias = Any
"""An int, the solver's term for one, or a column of them."""

Truth: TypeAlias = Any
"""A bool, the solver's term for one, or a column of them."""


class Algebra(Protocol):
    """What a tick needs besides + and -, * by a constant, and comparison."""

    def either(self, condition: Truth, then: Any, other: Any) -> Any:
        """`then` where the condition holds, else `other`; both of one kind."""

    def both(self, *truths: Truth) -> Truth:
        """Whether all of them hold."""

    def any_of(self, *truths: Truth) -> Truth:
        """Whether one of them holds."""

    def no(self, truth: Truth) -> Truth:
        """Whether it does not hold."""

    def divided(self, number: Number, by: int) -> Number:
        """By a constant above 0, rounded down."""

    def opaque(
        self, bounds: tuple[int, int], function: Callable[..., int], *arguments: Number
    ) -> Number:
        """A number of which proofs know only its bounds, both included."""


class Derived:
    """What follows from `either`."""

    def either(self, condition: Truth, then: Any, other: Any) -> Any:
        """As `Algebra.either`."""
        raise NotImplementedError

    def least(self, first: Number, second: Number) -> Number:
        """The smaller of two."""
        return self.either(first <= second, first, second)

    def most(self, first: Number, second: Number) -> Number:
        """The larger of two."""
        return self.either(first >= second, first, second)

    def count(self, truth: Truth) -> Number:
        """1 where it holds, else 0."""
        return self.either(truth, 1, 0)

    def lookup(self, index: Number, table: Sequence[int]) -> Number:
        """The entry of a table at `index`; its last one for any index beyond."""
        entries = list(enumerate(table))
        return reduce(
            lambda rest, entry: self.either(index == entry[0], entry[1], rest),
            reversed(entries[:-1]),
            entries[-1][1],
        )


class Divides:
    """What Python's own numbers have an operator for."""

    def divided(self, number: Number, by: int) -> Number:
        """As `Algebra.divided`."""
        return number // by


class Whole(Divides, Derived):
    """Plain integers: what the model computes."""

    def either(self, condition: Truth, then: Any, other: Any) -> Any:
        return then if condition else other

    def both(self, *truths: Truth) -> Truth:
        return all(truths)

    def any_of(self, *truths: Truth) -> Truth:
        return any(truths)

    def no(self, truth: Truth) -> Truth:
        return not truth

    def opaque(
        self, bounds: tuple[int, int], function: Callable[..., int], *arguments: Number
    ) -> Number:
        value = function(*arguments)
        if not bounds[0] <= value <= bounds[1]:
            raise ArithmeticError(f"{value} is not within {bounds}: proofs rest on a wrong bound")
        return value

    def lookup(self, index: Number, table: Sequence[int]) -> Number:
        return table[index] if 0 <= index < len(table) else table[-1]


class Columns(Divides, Derived):
    """Columns of numbers: many states at once."""

    def either(self, condition: Truth, then: Any, other: Any) -> Any:
        return np.where(condition, then, other)

    def both(self, *truths: Truth) -> Truth:
        return reduce(np.logical_and, truths, np.True_)

    def any_of(self, *truths: Truth) -> Truth:
        return reduce(np.logical_or, truths, np.False_)

    def no(self, truth: Truth) -> Truth:
        return np.logical_not(truth)

    def opaque(
        self,
        bounds: tuple[int, int],  # noqa: ARG002 - the solver's instance needs them
        function: Callable[..., int],
        *arguments: Number,
    ) -> Number:
        # The same numbers, which most rows have, are reckoned once.
        columns = np.broadcast_arrays(*arguments)
        rows = np.stack([np.ravel(one).astype(np.int64) for one in columns], axis=1)
        every, places = np.unique(rows, axis=0, return_inverse=True)
        values = np.array([function(*row) for row in every.tolist()], np.int64)
        return values[places.reshape(-1)].reshape(columns[0].shape)
