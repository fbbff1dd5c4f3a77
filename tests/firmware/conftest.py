"""Sketches of the yardstick, compiled once for all tests that want them."""

from __future__ import annotations

from contextlib import ExitStack
from functools import cache
from typing import TYPE_CHECKING, Protocol

import pytest

from gen.boards import load_board
from gen.compile import ARDUINO_CORE
from gen.render import render
from gen.toolchain import find_toolchains
from host_tools.firmware import FirmwareRung
from tests.benchmarks.yardstick import yardstick

if TYPE_CHECKING:
    from collections.abc import Iterator


class Compiled(Protocol):
    """The yardstick on a board, as a rung; `edit` replaces a text in one file of it first."""

    def __call__(
        self,
        board: str,
        *,
        compiler: str = "",
        core: bool = False,
        edit: tuple[str, str, str] | None = None,
    ) -> FirmwareRung: ...


@pytest.fixture(scope="session")
def compiled() -> Iterator[Compiled]:
    with ExitStack() as stack:

        @cache
        def make(
            board: str,
            *,
            compiler: str = "",
            core: bool = False,
            edit: tuple[str, str, str] | None = None,
        ) -> FirmwareRung:
            plan = yardstick(board)
            sketch = dict(render(plan, load_board(board)))
            if edit is not None:
                name, old, new = edit
                assert old in sketch[name]
                sketch[name] = sketch[name].replace(old, new)
            toolchain = next(
                (one for one in find_toolchains() if one.version == compiler), find_toolchains()[0]
            )
            assert compiler in ("", toolchain.version)
            rung = FirmwareRung.of_sketch(
                plan,
                load_board(board),
                sketch,
                toolchain=toolchain,
                arduino_core=ARDUINO_CORE if core else None,
            )
            return stack.enter_context(rung)

        yield make
