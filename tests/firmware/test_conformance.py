"""The whole sketch on each chip does what the model does, whichever compiler and core it has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.boards import load_board
from gen.compile import ARDUINO_CORE
from gen.render import render
from gen.toolchain import find_toolchains
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareFault, FirmwareRung
from host_tools.model import Model
from host_tools.thumbs import random_trace
from tests.benchmarks.yardstick import yardstick

if TYPE_CHECKING:
    from tests.firmware.conftest import Compiled

pytestmark = pytest.mark.firmware

BOARDS = ("nano", "mega", "micro")
COMPILERS = ("5.4.0", "7.3.0")


@pytest.mark.parametrize("core", [False, True], ids=["bare", "core"])
@pytest.mark.parametrize("compiler", COMPILERS)
@pytest.mark.parametrize("board", BOARDS)
def test_model_and_chip_agree(board: str, compiler: str, core: bool, compiled: Compiled) -> None:
    rung = compiled(board, compiler=compiler, core=core)
    for seed in (1, 2):
        record, run = rung.observe(random_trace(rung.plan, 600, seed))
        assert first_difference(Model(rung.plan).run(record.trace), record) is None
        assert record.trace.widths_half_us.any()
        assert record.lines.any()
        assert record.digests is not None
        assert len(np.unique(record.digests)) > 100

        assert rung.built is not None
        assert 20 < run.stack_bytes <= rung.built.stack_bytes
        free = rung.board.ram_bytes - rung.built.ram_bytes
        assert rung.built.stack_bytes < free / 2


@pytest.mark.parametrize("board", BOARDS)
def test_the_desktop_tools_link_time_optimisation_changes_nothing(board: str) -> None:
    """The board makers' tool compiles all of a sketch at once, with avr-gcc 7.3."""
    plan = yardstick(board)
    with FirmwareRung.of_sketch(
        plan,
        load_board(board),
        render(plan, load_board(board)),
        toolchain=next(one for one in find_toolchains() if one.version == "7.3.0"),
        arduino_core=ARDUINO_CORE,
        extra_flags=["-flto", "-fuse-linker-plugin"],
    ) as rung:
        record = rung.run(random_trace(plan, 600, 1))
        assert first_difference(Model(plan).run(record.trace), record) is None


@pytest.mark.parametrize(
    ("edit", "complaint"),
    [
        (("src/board/servos.cpp", "width - 1u", "width + 0u"), "servo 0: pulse "),
        (
            (
                "src/board/software_servos.cpp",
                "after(rise, width_of(servo, outputs))",
                "after(rise, width_of(servo, outputs) + 100u)",
            ),
            "servo 2: pulse ",
        ),
        (
            (
                "src/board/pulses_in.cpp",
                "clock::between(began_at[input], time)",
                "static_cast<uint16_t>(3000)",
            ),
            "the chip saw 1500 us",
        ),
        (("yardstick.ino", "board::tick_done();", "for (;;) {}"), "had done 0 of"),
    ],
)
def test_a_board_that_lies_is_found_out(
    edit: tuple[str, str, str], complaint: str, compiled: Compiled
) -> None:
    rung = compiled("nano", edit=edit)
    with pytest.raises(FirmwareFault, match=complaint):
        rung.run(random_trace(rung.plan, 600, 1))


def test_a_wrong_polarity_is_a_difference(compiled: Compiled) -> None:
    """Lines are read from the pins: a report that says all is well does not help."""
    edit = (
        "src/board/wiring.h",
        " ^ levels) & ",
        " ^ ~levels) & ",
    )
    rung = compiled("nano", edit=edit)
    record = rung.run(random_trace(rung.plan, 300, 1))
    difference = first_difference(Model(rung.plan).run(record.trace), record)
    assert difference is not None
    assert difference.what == "outputs"
