"""Numbers that are known, or terms of the solver; what is known is folded at once.

A number is an int or a bit vector, a truth a bool or a Boolean term; a pointer is where it may
point to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import z3

if TYPE_CHECKING:
    from collections.abc import Iterable

Number = Any
Truth = Any
Bits = Any
"""A width, or those of a group's members."""

POINTER_BITS = 16


@dataclass(frozen=True, slots=True)
class Pointer:
    """Each way that it may be: a condition, the object (0 is none), the offset in bytes."""

    ways: tuple[tuple[Truth, int, Number], ...]


NULL = Pointer(((True, 0, 0),))


def term(value: Number, bits: int) -> Any:
    """As the solver has it."""
    return z3.BitVecVal(value, bits) if isinstance(value, int) else value


def truth(value: Truth) -> Any:
    """As the solver has it."""
    return z3.BoolVal(value) if isinstance(value, bool) else value


def negated(value: Truth) -> Truth:
    return not value if isinstance(value, bool) else z3.Not(value)


def both(truths: Iterable[Truth]) -> Truth:
    left: list[Any] = []
    for one in truths:
        if one is False:
            return False
        if one is not True:
            left.append(one)
    return True if not left else left[0] if len(left) == 1 else z3.And(*left)


def any_of(truths: Iterable[Truth]) -> Truth:
    left: list[Any] = []
    for one in truths:
        if one is True:
            return True
        if one is not False:
            left.append(one)
    return False if not left else left[0] if len(left) == 1 else z3.Or(*left)


def either(condition: Truth, then: Any, other: Any, bits: Bits) -> Any:
    """One of two numbers, truths (1 bit), pointers or groups of them."""
    if isinstance(condition, bool):
        return then if condition else other
    if then is other:
        return then
    if isinstance(then, Pointer):
        unlike = negated(condition)
        return Pointer(
            tuple(
                (both((guard, one[0])), one[1], one[2])
                for guard, side in ((condition, then), (unlike, other))
                for one in side.ways
            )
        )
    if isinstance(then, tuple):
        widths = bits if isinstance(bits, tuple) else (bits,) * len(then)
        return tuple(
            either(condition, a, b, width) for a, b, width in zip(then, other, widths, strict=True)
        )
    if isinstance(then, bool | z3.BoolRef):
        if isinstance(then, bool) and isinstance(other, bool):
            return then if then == other else condition if then else z3.Not(condition)
        if not isinstance(then, bool) and not isinstance(other, bool) and then.eq(other):
            return then
        return z3.If(condition, truth(then), truth(other))
    if isinstance(then, int) and isinstance(other, int) and then == other:
        return then
    if isinstance(then, z3.ExprRef) and isinstance(other, z3.ExprRef) and then.eq(other):
        return then
    return z3.If(condition, term(then, bits), term(other, bits))


def signed(value: int, bits: int) -> int:
    return value - (1 << bits) if value >> (bits - 1) & 1 else value


def choice(value: Number) -> tuple[Any, int, int] | None:
    """The condition and the two numbers of a term that is one of two known ones."""
    if isinstance(value, z3.ExprRef) and z3.is_app_of(value, z3.Z3_OP_ITE):
        condition, then, other = value.children()
        if z3.is_bv_value(then) and z3.is_bv_value(other):
            return condition, then.as_long(), other.as_long()
    return None


def binary(opcode: str, a: Number, b: Number, bits: int) -> Number:
    """The machine's arithmetic, modulo 2^bits."""
    if isinstance(a, int) and isinstance(b, int):
        mask = (1 << bits) - 1
        if opcode in ("shl", "lshr", "ashr") and b >= bits:
            return 0  # open in C++, and reported where it can be
        known: dict[str, Any] = {
            "add": lambda: a + b,
            "sub": lambda: a - b,
            "mul": lambda: a * b,
            "and": lambda: a & b,
            "or": lambda: a | b,
            "xor": lambda: a ^ b,
            "shl": lambda: a << b,
            "lshr": lambda: a >> b,
            "ashr": lambda: signed(a, bits) >> b,
            "udiv": lambda: a // b,
            "urem": lambda: a % b,
            "sdiv": lambda: int(signed(a, bits) / signed(b, bits)),
            "srem": lambda: math.fmod(signed(a, bits), signed(b, bits)),
        }
        return int(known[opcode]()) & mask
    x, y = term(a, bits), term(b, bits)
    terms: dict[str, Any] = {
        "add": lambda: x + y,
        "sub": lambda: x - y,
        "mul": lambda: x * y,
        "and": lambda: x & y,
        "or": lambda: x | y,
        "xor": lambda: x ^ y,
        "shl": lambda: x << y,
        "lshr": lambda: z3.LShR(x, y),
        "ashr": lambda: x >> y,
        "udiv": lambda: z3.UDiv(x, y),
        "urem": lambda: z3.URem(x, y),
        "sdiv": lambda: x / y,
        "srem": lambda: z3.SRem(x, y),
    }
    return terms[opcode]()


def compared(predicate: str, a: Number, b: Number, bits: int) -> Truth:
    """Icmp of two numbers."""
    if isinstance(a, int) and isinstance(b, int):
        if predicate[0] == "s":
            a, b = signed(a, bits), signed(b, bits)
        return {
            "eq": a == b, "ne": a != b, "lt": a < b, "le": a <= b, "gt": a > b, "ge": a >= b,
        }[predicate[-2:]]  # fmt: skip
    if isinstance(b, int) and (parts := choice(a)) is not None:
        condition, then, other = parts
        outcomes = compared(predicate, then, b, bits), compared(predicate, other, b, bits)
        return either(condition, *outcomes, 1)
    x, y = term(a, bits), term(b, bits)
    terms: dict[str, Any] = {
        "eq": lambda: x == y,
        "ne": lambda: x != y,
        "ult": lambda: z3.ULT(x, y),
        "ule": lambda: z3.ULE(x, y),
        "ugt": lambda: z3.UGT(x, y),
        "uge": lambda: z3.UGE(x, y),
        "slt": lambda: x < y,
        "sle": lambda: x <= y,
        "sgt": lambda: x > y,
        "sge": lambda: x >= y,
    }
    return terms[predicate]()


def widened(value: Any, bits: int, to_bits: int, *, sign: bool = False) -> Number:
    """Zext and sext; a truth has one bit."""
    if bits == 1:
        one = (1 << to_bits) - 1 if sign else 1
        if isinstance(value, bool):
            return one if value else 0
        return z3.If(value, z3.BitVecVal(one, to_bits), z3.BitVecVal(0, to_bits))
    if isinstance(value, int):
        return signed(value, bits) & ((1 << to_bits) - 1) if sign else value
    extend = z3.SignExt if sign else z3.ZeroExt
    return extend(to_bits - bits, value)


def narrowed(value: Number, to_bits: int) -> Any:
    """trunc; to one bit it is a truth."""
    if isinstance(value, int):
        return bool(value & 1) if to_bits == 1 else value & ((1 << to_bits) - 1)
    if (parts := choice(value)) is not None:
        condition, then, other = parts
        return either(condition, narrowed(then, to_bits), narrowed(other, to_bits), to_bits)
    short = z3.Extract(to_bits - 1, 0, value)
    return short == 1 if to_bits == 1 else short
