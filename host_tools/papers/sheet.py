"""What a sheet is made of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

from host_tools.papers.table import Change, Table


@dataclass(frozen=True)
class Figure:
    """A drawing as SVG. `key` names what it is about, from version to version."""

    key: str
    caption: str
    svg: str
    change: Change = field(default=Change.NONE, compare=False)


@dataclass(frozen=True)
class Figures:
    """Drawings side by side, or `wide` ones below each other. `name` begins their files' names."""

    name: str
    title: str
    figures: tuple[Figure, ...]
    note: str = ""
    wide: bool = False


@dataclass(frozen=True)
class Cautions:
    """What can hurt, each in a sentence or two."""

    texts: tuple[str, ...]


@dataclass(frozen=True)
class Notes:
    """Paragraphs."""

    texts: tuple[str, ...]


Block: TypeAlias = Table | Figures | Cautions | Notes


@dataclass(frozen=True)
class Sheet:
    """One kind of paper, on as many pages as it takes. `name` is its anchor."""

    name: str
    title: str
    blocks: tuple[Block, ...]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to print but notes and cautions."""
        return not any(
            (isinstance(one, Table) and one.rows) or (isinstance(one, Figures) and one.figures)
            for one in self.blocks
        )
