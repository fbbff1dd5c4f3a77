"""Pictures, for the commands that draw."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from gen.toolchain import MissingTool
from host_tools.files import refuse_existing, write_file

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path
    from types import ModuleType

    from gen.plan import Plan
    from host_tools.learn.learned import Learned
    from host_tools.plot import Picture
    from host_tools.plot.page import Page
    from host_tools.record import Record
    from host_tools.states import Mark


def picture_files(stem: Path) -> tuple[Path, Path]:
    """The two files of a picture; `stem` has no ending, and may well hold a dot."""
    return stem.with_name(f"{stem.name}.svg"), stem.with_name(f"{stem.name}.png")


def draw_picture(
    plan: Plan, record: Record, marks: Sequence[Mark], rung: str, stem: Path
) -> tuple[Path, Path]:
    """Draw a run as SVG and PNG; returns both files.

    Raises MissingTool (`no-pictures`) without the library, ShipError (`exists`) when one of the
    files is there already.
    """
    return _written(stem, lambda: _plot("host_tools.plot").draw(plan, record, marks, rung=rung))


def draw_page(page: Callable[[], Page], stem: Path) -> tuple[Path, Path]:
    """The same of any page of lanes."""
    return _written(stem, lambda: _plot("host_tools.plot").drawn(page))


def draw_radio(learned: Learned, stem: Path) -> tuple[Path, Path]:
    """The same of what was learned of a radio."""
    return _written(stem, lambda: _plot("host_tools.plot.learned").draw_learned(learned))


def _plot(module: str) -> ModuleType:
    try:
        return import_module(module)
    except ImportError as error:
        if (error.name or "").partition(".")[0] != "matplotlib":
            raise
        raise MissingTool(
            "no-pictures",
            "the library that draws pictures is not installed",
            "pip install 'pinrail[plot]'",
        ) from None


def _written(stem: Path, draw: Callable[[], Picture]) -> tuple[Path, Path]:
    files = picture_files(stem)
    refuse_existing(*files)
    picture = draw()
    for path, content in zip(files, (picture.svg, picture.png), strict=True):
        write_file(path, content, replace=False)
    return files
