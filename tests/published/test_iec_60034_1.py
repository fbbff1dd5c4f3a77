"""Duty of motors: IEC 60034-1, 4.2: S1 goes on for ever, S2 is one short run ("S2 60 min"), S3 a
cycle of run and rest ("S3 25 %"), 10 min unless said otherwise; preferred factors 15, 25, 40 and
60 % (the last two facts from memory). The behaviour `winch` keeps the same duty in ticks.
"""

from __future__ import annotations

import pytest

from gen.behaviours.winch import Duty
from gen.plan import TICK_MS
from host_tools.electrical.duty import longest_run_s, rest_s
from host_tools.electrical.figure import Given

PREFERRED = (15, 25, 40, 60)
USUAL_CYCLE = Given("cycle", 600, "s", "IEC 60034-1, 4.2: 10 min (from memory)")


@pytest.mark.parametrize("percent", PREFERRED)
def test_s3_run_and_rest_make_a_cycle(percent: int) -> None:
    factor = Given("factor", percent, "%", "IEC 60034-1")
    run = longest_run_s("davit", factor, USUAL_CYCLE)
    rest = rest_s("davit", run, factor)
    assert run.value == pytest.approx(percent / 100 * 600)
    assert run.value + rest.value == pytest.approx(600)


@pytest.mark.parametrize("percent", PREFERRED)
def test_the_winch_keeps_that_duty(percent: int) -> None:
    factor = Given("factor", percent, "%", "IEC 60034-1")
    kept = Duty.of(percent, 600 * 1000 // TICK_MS)
    run = longest_run_s("davit", factor, USUAL_CYCLE)
    assert kept.run_ticks * TICK_MS / 1000 == pytest.approx(run.value)
    assert kept.rest_ticks * TICK_MS / 1000 == pytest.approx(rest_s("davit", run, factor).value)
