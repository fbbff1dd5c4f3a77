"""One line, and a receiver that any bytes may come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from crccheck.crc import Crc16Ibm3740
from hypothesis import given
from hypothesis import strategies as st

from host_tools.link.lines import (
    MOST_FROM_BOARD,
    MOST_TO_BOARD,
    Line,
    Receiver,
    Writer,
    crc_of,
    line_of,
    parsed,
)
from tests.benchmarks.damage import Damage, from_board, to_board

if TYPE_CHECKING:
    from collections.abc import Callable

WORDS = st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=12).flatmap(
    lambda word: st.lists(st.just(word), min_size=1, max_size=4).map(" ".join)
)


def test_the_catalogue_s_check_value() -> None:
    # CRC-16/IBM-3740 in the catalogue of parametrised CRC algorithms: check 29B1.
    assert crc_of(b"123456789") == 0x29B1


@given(st.binary(max_size=300))
def test_the_crc_is_crccheck_s(data: bytes) -> None:
    assert crc_of(data) == Crc16Ibm3740.calc(data)


def test_a_line_by_hand() -> None:
    # The CRC over b"07 who", by crccheck.
    assert line_of(7, "who") == f"07 who {Crc16Ibm3740.calc(b'07 who'):04X}\n".encode()


@given(st.integers(0, 255), WORDS)
def test_what_is_written_is_read(number: int, words: str) -> None:
    raw = line_of(number, words)
    if len(raw) - 1 <= MOST_FROM_BOARD:
        assert parsed(raw[:-1], MOST_FROM_BOARD) == Line(number, words)
        assert list(Receiver().feed(raw[:-1] + b"\r\n")) == [Line(number, words)]


@pytest.mark.parametrize("words", ["", " ", "a ", " a", "a  b", "a\tb", "a\nb", "a\0"])
def test_what_cannot_stand_in_a_line(words: str) -> None:
    with pytest.raises(ValueError, match="cannot stand"):
        line_of(0, words)


def test_a_host_never_writes_a_line_that_a_board_cannot_take() -> None:
    writer = Writer()
    longest = "p " + "a" * (MOST_TO_BOARD - 8 - 2)
    assert len(writer.line(longest)) == MOST_TO_BOARD + 1
    with pytest.raises(ValueError, match="too long"):
        writer.line(longest + "a")


def test_numbers_wrap() -> None:
    writer, receiver = Writer(), Receiver()
    for number in [*range(256), 0, 1]:
        assert list(receiver.feed(writer.line("here"))) == [Line(number, "here")]
    assert receiver.counts.all == 0


@given(st.lists(st.binary(max_size=40), max_size=20))
def test_any_bytes_in_any_pieces(pieces: list[bytes]) -> None:
    whole, parted = Receiver(), Receiver()
    assert list(whole.feed(b"".join(pieces))) == [
        line for piece in pieces for line in parted.feed(piece)
    ]
    assert whole.counts == parted.counts


@given(st.binary(max_size=600))
def test_after_any_bytes_the_second_good_line_is_taken(garbage: bytes) -> None:
    """The first one may be joined to what came before, or not be the next number."""
    receiver = Receiver()
    list(receiver.feed(garbage))
    list(receiver.feed(line_of(0x41, "here")))
    assert list(receiver.feed(line_of(0x42, "who"))) == [Line(0x42, "who")]


def test_a_line_out_of_its_order_is_not_obeyed_and_the_next_one_is() -> None:
    receiver = Receiver()
    assert list(receiver.feed(line_of(5, "one"))) == [Line(5, "one")]
    assert list(receiver.judged(line_of(7, "two"))) == [(Line(7, "two"), False)]
    assert list(receiver.feed(line_of(8, "three"))) == [Line(8, "three")]
    assert list(receiver.feed(line_of(8, "three"))) == []
    assert (receiver.counts.failed, receiver.counts.order) == (0, 2)


def test_after_a_new_start_any_number_is_the_first() -> None:
    receiver = Receiver()
    list(receiver.feed(line_of(5, "one")))
    receiver.start_anew()
    assert list(receiver.feed(line_of(0, "one"))) == [Line(0, "one")]


def test_what_is_too_long_is_one_line_that_failed_however_long_it_is() -> None:
    receiver = Receiver(MOST_TO_BOARD)
    for _ in range(1000):
        assert list(receiver.feed(b"x" * 100)) == []
    assert receiver.counts.failed == 0
    list(receiver.feed(b"\n"))
    assert receiver.counts.failed == 1
    assert list(receiver.feed(line_of(3, "who"))) == [Line(3, "who")]


@pytest.mark.parametrize(
    "raw",
    [
        b"0 who 1234",
        b"00 who 12345",
        b"0g who 1234",
        b"00  who 1234",
        b"00 who",
        b"00 who abcd",
        b"",
        b"\xff\xfe",
    ],
)
def test_other_forms(raw: bytes) -> None:
    assert parsed(raw, MOST_FROM_BOARD) is None


def test_a_good_crc_over_what_is_no_text() -> None:
    body = b"00 who \xff"
    assert parsed(body + f" {crc_of(body):04X}".encode(), MOST_FROM_BOARD) is None


@pytest.mark.parametrize("way", [from_board, to_board])
def test_damaged_lines(way: Callable[[int, int], Damage]) -> None:
    found = way(6_000, 1)
    assert found.taken == {}
    assert found.lost_most == 1
