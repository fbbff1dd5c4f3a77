"""How a number was come by: a figure as a tree, down to the ship file and the standards."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from host_tools.electrical.figure import Figure, Given

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

INDENT = "    "


def figures_in(record: object) -> Iterator[Figure]:
    """Every figure that a record holds, in its fields, their tuples and their records, in order;
    not those that they were made from."""
    if isinstance(record, Figure):
        yield record
    elif isinstance(record, tuple | list):
        for one in record:
            yield from figures_in(one)
    elif dataclasses.is_dataclass(record) and not isinstance(record, type):
        for field in dataclasses.fields(record):
            yield from figures_in(getattr(record, field.name))


def known(record: object) -> tuple[str, ...]:
    """Whose figures a record holds, each once, sorted."""
    return tuple(sorted({figure.of for figure in figures_in(record)}))


def explained(record: object, name: str) -> tuple[str, ...]:
    """The lines that explain every figure of `name` in a record: what it is, its formula and whose
    that is, then what it was made from, further in. What was explained before is not again."""
    lines: list[str] = []
    told: set[Figure] = set()
    for figure in figures_in(record):
        if figure.of == name and figure not in told:
            lines += _tree(figure, 0, told)
    return tuple(lines)


def _tree(figure: Figure, depth: int, told: set[Figure]) -> Iterator[str]:
    indent = depth * INDENT
    again = figure in told
    yield f"{indent}{figure.label} = {figure.shown()}{' (see above)' if again else ''}"
    if again:
        return
    told.add(figure)
    yield f"{indent}  {figure.formula}   [{figure.source}]"
    yield from _inputs(figure.given, depth + 1, told)


def _inputs(given: Sequence[Given | Figure], depth: int, told: set[Figure]) -> Iterator[str]:
    for one in given:
        if isinstance(one, Figure):
            yield from _tree(one, depth, told)
        else:
            yield f"{depth * INDENT}{one.label} = {one.shown()}   [{one.source}]"
