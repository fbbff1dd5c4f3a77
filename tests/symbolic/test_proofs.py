"""The sketch's logic cannot go wrong, quickly: the complete run is `python -m tests.symbolic`.

Tables are shorter here, and what takes the solver long is left to the complete run; see
subjects.py.
"""

from __future__ import annotations

import pytest

from gen.behaviours import REGISTRY
from tests.symbolic.__main__ import finds
from tests.symbolic.faults import FAULTS, QUICK
from tests.symbolic.ir import read
from tests.symbolic.machine import Machine, State
from tests.symbolic.prove import SKETCH, SUBJECTS, compiled, prove, ticks_of
from tests.symbolic.subjects import HEADERS, LONG, PARTS, Case, quick

PROVED_ELSEWHERE = {
    "deflection.h": "follow",
    "digest.h": "outputs",
    "function.h": "every behaviour",
    "kept.h": "winch_more",
    "shared_channel.h": "in_turn",
    "sum_signal.h": "in_turn",
    "trigger.h": "rhythm and dimmer",
    "units.h": "every behaviour",
}
NO_LOGIC = {"flash.h", "inline.h", "pulses.h", "readings.h", "report.h"}
"""Declarations alone, and how a table is read (of which the chip's own half needs the chip)."""


@pytest.mark.parametrize(
    "case", [*quick()], ids=lambda case: " ".join((case.subject, *case.defines))
)
def test_nothing_overflows_and_invariants_are_kept(case: Case) -> None:
    module = compiled(case)
    for tick in ticks_of(module):
        if (case.subject, tick) not in LONG:
            proof = prove(case.subject, tick, module)
            assert proof.obligations > 0 or tick.endswith(("recall", "much", "scale")), tick
            assert not [(one.what, one.place) for one in proof.broken], tick


@pytest.mark.parametrize(
    "fault", [fault for fault in FAULTS if fault[0] in QUICK], ids=lambda fault: fault[2][:24]
)
def test_a_planted_fault_is_found(fault: tuple[str, str, str, str]) -> None:
    assert finds(fault)


def test_every_header_of_the_logic_has_a_subject() -> None:
    behaviours = {path.name for path in (SKETCH / "behaviours").iterdir()}
    assert behaviours == set(HEADERS.values())
    assert set(REGISTRY) <= set(HEADERS)
    logic = {path.name for path in (SKETCH / "logic").iterdir()}
    assert logic == {f"{part}.h" for part in PARTS} | set(PROVED_ELSEWHERE) | NO_LOGIC
    subjects = {path.stem for path in SUBJECTS.glob("*.cpp")}
    assert subjects == {*HEADERS, *PARTS, "in_turn"}


def test_every_behaviour_has_faults_of_several_kinds() -> None:
    planted = [fault[0] for fault in FAULTS]
    assert all(planted.count(subject) >= 3 for subject in HEADERS)


def test_every_fault_still_fits_the_sketch() -> None:
    for _, header, sound, _ in FAULTS:
        assert sound in (SKETCH / header).read_text(encoding="utf-8")


KNOWN = """
define dso_local i16 @known(i16 %a, i16 %b) addrspace(1) #0 {
entry:
  %shifted = lshr i16 %a, 3
  %sum = add i16 %shifted, %b
  %small = icmp ult i16 %sum, 100
  br i1 %small, label %then, label %end

then:                                             ; preds = %entry
  %long = zext i16 %sum to i32
  %product = mul i32 %long, 70000
  %high = lshr i32 %product, 16
  %back = trunc i32 %high to i16
  br label %end

end:                                              ; preds = %then, %entry
  %result = phi i16 [ %back, %then ], [ %b, %entry ]
  ret i16 %result
}
"""


@pytest.mark.parametrize(
    ("a", "b", "result"), [(80, 5, 15 * 70000 >> 16), (8000, 5, 5), (0, 0xFFFF, 0xFFFF)]
)
def test_the_machine_reckons_as_the_chip_does(a: int, b: int, result: int) -> None:
    module = read(KNOWN)
    value, _ = Machine(module).call(module.functions["known"], [a, b], State((), {}))
    assert value == result
