"""The solver's instance of the algebra (z3). Imported only by who proves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import z3

from host_tools.prove.algebra import Derived, Number, Truth

if TYPE_CHECKING:
    from collections.abc import Callable


class Terms(Derived):
    """The solver's terms. What is known already is folded, so that queries stay small. `bounds` are
    what opaque numbers are known to keep."""

    def __init__(self) -> None:
        self.bounds: list[Any] = []
        self._fresh = 0

    def either(self, condition: Truth, then: Any, other: Any) -> Any:
        if isinstance(condition, bool):
            return then if condition else other
        if then is other or (isinstance(then, int) and isinstance(other, int) and then == other):
            return then
        if isinstance(then, z3.ExprRef) and isinstance(other, z3.ExprRef) and then.eq(other):
            return then
        if isinstance(then, bool) and isinstance(other, bool):
            return condition if then else z3.Not(condition)
        return z3.If(condition, then, other)

    def both(self, *truths: Truth) -> Truth:
        if any(truth is False for truth in truths):
            return False
        left = [truth for truth in truths if truth is not True]
        return z3.And(*left) if len(left) > 1 else left[0] if left else True

    def any_of(self, *truths: Truth) -> Truth:
        if any(truth is True for truth in truths):
            return True
        left = [truth for truth in truths if truth is not False]
        return z3.Or(*left) if len(left) > 1 else left[0] if left else False

    def no(self, truth: Truth) -> Truth:
        return not truth if isinstance(truth, bool) else z3.Not(truth)

    def divided(self, number: Number, by: int) -> Number:
        return number // by if isinstance(number, int) else number / by

    def opaque(
        self,
        bounds: tuple[int, int],
        function: Callable[..., int],
        *arguments: Number,
    ) -> Number:
        if all(isinstance(one, int) for one in arguments):
            return function(*arguments)
        self._fresh += 1
        value = z3.Int(f"opaque {self._fresh}")
        self.bounds.append(z3.And(bounds[0] <= value, value <= bounds[1]))
        return value
