"""Records of what outlives the power, against the catalogue of CRCs and cut in every way."""

from __future__ import annotations

import pytest
from crccheck.crc import CrcXmodem

from gen.behaviours import Loss, Toggle
from gen.boards import load_board
from host_tools.kept import eeprom_with, places, recalled, record, wear
from tests.host_tools.bench_ship import KEY_UP, OTHER_UP, plan_with

NANO = load_board("nano")
PLAN = plan_with(
    Toggle(name="lamp", code="lamp", on_loss=Loss.OFF, ask=KEY_UP, drives=2, remember=True),
    Toggle(name="mast", code="mast", on_loss=Loss.OFF, ask=OTHER_UP, drives=3, remember=True),
)
SIZE = 6


def test_a_record_is_its_bytes_its_number_and_a_published_crc() -> None:
    made = record(PLAN, b"\x01\x00", 0x1234)
    assert made[:4] == b"\x01\x00\x34\x12"
    crc = CrcXmodem(initvalue=PLAN.mark)
    crc.process(made[:4])
    assert int.from_bytes(made[4:], "little") == crc.final()


def test_every_record_of_a_plan_that_keeps_two_bytes() -> None:
    assert (PLAN.kept_bytes, PLAN.kept_record_bytes, places(PLAN, NANO)) == (2, SIZE, 170)


@pytest.mark.parametrize("written", range(SIZE + 1))
def test_a_cut_within_a_record_leaves_the_one_before(written: int) -> None:
    image = bytearray(eeprom_with(PLAN, NANO, b"\x01\x00"))
    whole = record(PLAN, b"\x01\x01", 2)
    image[SIZE : SIZE + written] = whole[:written]
    is_whole = image[SIZE : 2 * SIZE] == whole  # also when what is missing is as an erased cell is
    assert recalled(PLAN, NANO, bytes(image)) == (b"\x01\x01" if is_whole else b"\x01\x00")


@pytest.mark.parametrize("cell", range(SIZE))
def test_a_cell_that_went_bad_ends_its_record(cell: int) -> None:
    image = bytearray(eeprom_with(PLAN, NANO, b"\x01\x00"))
    image[cell] ^= 0x10
    assert recalled(PLAN, NANO, bytes(image)) == b""


def test_numbers_go_round() -> None:
    old, new = record(PLAN, b"\x00\x00", 0xFFFF), record(PLAN, b"\x01\x01", 0)
    assert recalled(PLAN, NANO, old + new) == b"\x01\x01"
    assert recalled(PLAN, NANO, new + old) == b"\x01\x01"


def test_what_another_plan_kept_is_not_ours() -> None:
    other = plan_with(*PLAN.functions[:1])
    assert other.mark != PLAN.mark
    assert recalled(PLAN, NANO, record(other, b"\x01\x00", 1)) == b""


def test_wear_is_told_with_its_assumption() -> None:
    # 500 * 365 / 170 = 1073.5; 100,000 / 1,074 = 93.
    assert wear(PLAN, NANO) == (
        "keeps 2 bytes over power-off in 170 places taken in turn: with 500 changes a day each "
        "cell is written 1,074 times a year and bears 100,000, 93 years"
    )
