"""What the machine remembers: objects of bytes, and tables whose rows are looked up when they are
read.

A byte is an int, a piece of a longer number or of a pointer, or None: anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import z3

from tests.symbolic.values import (
    NULL,
    POINTER_BITS,
    Number,
    Pointer,
    Truth,
    binary,
    both,
    compared,
    either,
    negated,
    term,
)


@dataclass(frozen=True, slots=True)
class Piece:
    """Byte number `at` of a value of so many bytes."""

    value: Any
    at: int
    size: int


Cells = list[Any]


@dataclass(frozen=True)
class Table:
    """Rows that nobody writes, of which nothing is known but what `rule` says of each: `rows` (a
    number) of `row_bytes`."""

    array: Any
    rows: Number
    row_bytes: int
    rule: str


_fresh = 0


def anything(bits: int) -> Any:
    """A number of which nothing is known."""
    global _fresh  # noqa: PLW0603 - names need not mean anything, only differ
    _fresh += 1
    return z3.BitVec(f"any{_fresh}", bits)


def joined(cells: list[Any]) -> Any:
    """The value that these bytes are; what is no pointer is a number."""
    first = cells[0]
    if isinstance(first, Piece) and first.at == 0 and first.size == len(cells):
        rest = cells[1:]
        if all(isinstance(c, Piece) and c.value is first.value for c in rest) and [
            c.at for c in rest
        ] == list(range(1, len(cells))):
            return first.value
    if all(isinstance(cell, int) for cell in cells):
        return sum(cell << (8 * at) for at, cell in enumerate(cells))
    if any(isinstance(cell, Piece) and isinstance(cell.value, Pointer) for cell in cells):
        raise TypeError("a pointer is read in pieces")
    if all(cell is None for cell in cells):
        return anything(8 * len(cells))
    parts = [_byte(cell) for cell in reversed(cells)]
    return parts[0] if len(parts) == 1 else z3.Concat(*parts)


def _byte(cell: Any) -> Any:
    if cell is None:
        return anything(8)
    if isinstance(cell, Piece):
        value = term(cell.value, 8 * cell.size)
        return z3.Extract(8 * cell.at + 7, 8 * cell.at, value)
    return term(cell, 8)


def pieces(value: Any, size: int) -> Cells:
    """The bytes of a value."""
    if isinstance(value, int):
        return [value >> (8 * at) & 0xFF for at in range(size)]
    return [Piece(value, at, size) for at in range(size)]


def merged(condition: Truth, a: Cells, b: Cells) -> Cells:
    """One of two contents, value by value."""
    out: Cells = []
    while len(out) < len(a):
        at = len(out)
        if a[at] is b[at] or (isinstance(a[at], int) and a[at] == b[at]):
            out.append(a[at])
            continue
        sizes = [c[at].size for c in (a, b) if isinstance(c[at], Piece) and c[at].at == 0]
        size = max((s for s in sizes if at + s <= len(a)), default=1)
        sides = [c[at : at + size] for c in (a, b)]
        values = []
        for side in sides:
            pointers = any(isinstance(c, Piece) and isinstance(c.value, Pointer) for c in side)
            if all(cell is None for cell in side):
                other = sides[0] if side is sides[1] else sides[1]
                if any(isinstance(c, Piece) and isinstance(c.value, Pointer) for c in other):
                    values.append(NULL)  # to look there is an error, as it should be
                    continue
            if pointers and len(side) * 8 != POINTER_BITS:
                raise TypeError("a pointer is merged in pieces")
            values.append(joined(side))
        out += pieces(either(condition, values[0], values[1], 8 * size), size)
    return out


def looked_up(cells: Cells, offset: Number, size: int) -> Any:
    """The bytes from an offset on, which lies inside."""
    if isinstance(offset, int):
        return joined(cells[offset : offset + size])
    value = joined(cells[-size:])
    for at in range(len(cells) - size - 1, -1, -1):
        here = compared("eq", offset, at, POINTER_BITS)
        value = either(here, joined(cells[at : at + size]), value, 8 * size)
    return value


def with_stored(cells: Cells, offset: Number, value: Any, size: int, when: Truth) -> Cells:
    """The object with a value at an offset, which lies inside."""
    new = pieces(value, size)
    if isinstance(offset, int):
        changed = [*cells[:offset], *new, *cells[offset + size :]]
        return changed if when is True else merged(when, changed, cells)
    out = cells
    for at in range(len(cells) - size + 1):
        here = both((when, compared("eq", offset, at, POINTER_BITS)))
        if here is not False:
            out = merged(here, [*out[:at], *new, *out[at + size :]], out)
    return out


def row_of(table: Table, offset: Number, size: int) -> Any:
    """What a table says from an offset on."""
    parts = [
        z3.Select(table.array, term(binary("add", offset, at, POINTER_BITS), POINTER_BITS))
        for at in reversed(range(size))
    ]
    return parts[0] if size == 1 else z3.Concat(*parts)


def is_inside(offset: Number, size: int, whole: Number) -> Truth:
    """Whether all bytes from an offset on lie within an object; offsets do not wrap."""
    wide = POINTER_BITS + 8
    o = offset if isinstance(offset, int) else z3.ZeroExt(8, offset)
    w = whole if isinstance(whole, int) else z3.ZeroExt(8, whole)
    return compared("ule", binary("add", o, size, wide), w, wide)


__all__ = ["anything", "is_inside", "joined", "looked_up", "merged", "negated", "row_of"]
