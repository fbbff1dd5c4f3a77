"""CRC check values: the catalogue's, an independent package's and the standard library's agree.

Source: the catalogue of parametrised CRC algorithms (check = CRC of the ASCII text "123456789"):
CRC-16/XMODEM (poly 1021, init 0000) 31C3, CRC-16/IBM-3740 (poly 1021, init FFFF) 29B1,
CRC-32/ISO-HDLC CBF43926. Reference package: crccheck. What Pinrail needs of CRCs it takes from
the standard library, so it is the standard library that is held against them here.
"""

from __future__ import annotations

import binascii
import zlib

import pytest
from crccheck.crc import Crc16Ibm3740, Crc16Xmodem, Crc32
from hypothesis import given
from hypothesis import strategies as st

CHECKED = b"123456789"


@pytest.mark.parametrize(("init", "check"), [(0x0000, 0x31C3), (0xFFFF, 0x29B1)])
def test_crc_16_with_polynomial_1021(init: int, check: int) -> None:
    assert binascii.crc_hqx(CHECKED, init) == check


def test_crc_32() -> None:
    assert zlib.crc32(CHECKED) == 0xCBF43926


@given(st.binary(max_size=200))
def test_the_reference_package_agrees(data: bytes) -> None:
    assert Crc16Xmodem.calc(data) == binascii.crc_hqx(data, 0x0000)
    assert Crc16Ibm3740.calc(data) == binascii.crc_hqx(data, 0xFFFF)
    assert Crc32.calc(data) == zlib.crc32(data)
