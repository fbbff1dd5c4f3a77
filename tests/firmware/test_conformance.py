"""The whole sketch on each chip does what the model does, whichever compiler and core it has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from host_tools.agree import first_difference
from host_tools.firmware import FirmwareFault
from host_tools.model import Model
from host_tools.thumbs import random_trace

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


@pytest.mark.parametrize(
    ("edit", "complaint"),
    [
        (("src/board/servos.cpp", "width - 1u", "width + 0u"), "servo 0: pulse "),
        (
            ("src/board/software_servos.cpp", "after(rise, widths[servo])", "after(rise, 3100)"),
            "servo 2: pulse ",
        ),
        (
            (
                "src/board/pulses_in.cpp",
                "clock::between(began_at[channel], time)",
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
