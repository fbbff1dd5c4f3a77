"""The boards' pin maps, held against the pin tables of the board makers' own core."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gen.boards import Board, board_names, load_board, read_board

VARIANTS = Path("/usr/share/arduino/hardware/arduino/avr/variants")
TABLES = {
    "nano": ("standard", "__AVR_ATmega328P__"),
    "mega": ("mega", "__AVR_ATmega2560__"),
    "micro": ("leonardo", "__AVR_ATmega32U4__"),
}
"""Which file holds each board's pin tables: the other variants include these."""

TIMER_2 = "2"
"""An 8-bit timer that nothing else uses, on the chips that have it."""

TWO_TIMERS = {"mega": {"D13": "OC1C"}, "micro": {"D11": "OC1C"}}
"""Pins that an 8-bit timer shares, which is the one the core's table names (chip datasheets)."""


class CoreTables:
    """The pin tables of one variant, read from its header."""

    def __init__(self, variant: str, chip: str) -> None:
        text = (VARIANTS / variant / "pins_arduino.h").read_text(encoding="utf-8")
        text = _choose(text, chip)
        self.ports = [name[1:] for name in self._table(text, "digital_pin_to_port_PGM", r"P[A-L]")]
        bits = self._table(text, "digital_pin_to_bit_mask_PGM", r"_BV\(\s*\d\s*\)")
        self.bits = [int(re.sub(r"\D", "", bit)) for bit in bits]
        self.timers = self._table(text, "digital_pin_to_timer_PGM", r"\b(?:NOT_ON_TIMER|TIMER\w+)")
        self.first_analogue = int(self._group(text, r"#define PIN_A0\s+\((\d+)\)"))

    @staticmethod
    def _table(text: str, name: str, entry: str) -> list[str]:
        body = CoreTables._group(text, rf"PROGMEM {name}\[\] = \{{(.*?)\}};")
        body = re.sub(r"//[^\n]*|/\*.*?\*/", "", body, flags=re.DOTALL)
        return re.findall(entry, body)

    @staticmethod
    def _group(text: str, pattern: str) -> str:
        match = re.search(pattern, text, flags=re.DOTALL)
        assert match is not None, pattern
        return match.group(1)

    def index(self, label: str) -> int:
        number = int(label[1:])
        return number if label[0] == "D" else self.first_analogue + number


def _choose(text: str, chip: str) -> str:
    """Drops the half of each `#if defined(…) … #else … #endif` that this chip does not see."""

    def half(match: re.Match[str]) -> str:
        return match.group(2) if match.group(1) == chip else match.group(3)

    return re.sub(
        r"#if defined\((\w+)\)\n((?:(?!#if).)*?)#else\n(.*?)#endif", half, text, flags=re.DOTALL
    )


def boards() -> list[Board]:
    return [load_board(name) for name in board_names()]


def test_three_boards_are_there() -> None:
    assert board_names() == ["mega", "micro", "nano"]


@pytest.mark.parametrize("name", sorted(TABLES))
def test_ports_bits_and_compares_are_those_of_the_core(name: str) -> None:
    board, core = load_board(name), CoreTables(*TABLES[name])
    assert len(core.ports) == len(core.bits) == len(core.timers)
    for label, pin in board.pins.items():
        if not pin.digital:
            assert label in {"A6", "A7"}
            continue
        index = core.index(label)
        assert (pin.port, pin.bit) == (core.ports[index], core.bits[index]), label
        timer = core.timers[index].removeprefix("TIMER")
        sixteen_bit = timer[0] in {str(timer.number) for timer in board.timers}
        expected = f"OC{timer}" if sixteen_bit else TWO_TIMERS.get(name, {}).get(label)
        assert pin.compare == expected, label
        assert pin.dims == (f"OC{timer}" if timer[0] == TIMER_2 else None), label


def test_pin_change_interrupts_of_the_core() -> None:
    """The core's own macros, spelt out as ranges of its pin numbers."""
    nano, mega, micro = (load_board(name) for name in ("nano", "mega", "micro"))
    for number in range(20):
        label = f"D{number}" if number < 14 else f"A{number - 14}"
        group = 2 if number <= 7 else 0 if number <= 13 else 1
        bit = number if number <= 7 else number - 8 if number <= 13 else number - 14
        assert (nano.pins[label].change_group, nano.pins[label].change_bit) == (group, bit)
    # The core leaves out D14 and D15 (PJ1, PJ0: bits 2 and 1 of PCMSK1) and D0, "deliberately".
    known = {"D0": (1, 0), "D14": (1, 2), "D15": (1, 1)}
    known |= {f"D{number}": (0, number - 6) for number in range(10, 14)}
    known |= {"D50": (0, 3), "D51": (0, 2), "D52": (0, 1), "D53": (0, 0)}
    known |= {f"A{number}": (2, number - 8) for number in range(8, 16)}
    assert _changes(mega) == known
    assert _changes(micro) == {
        **{f"D{number}": (0, number - 4) for number in range(8, 12)},
        "D14": (0, 3),
        "D15": (0, 1),
        "D16": (0, 2),
    }


def _changes(board: Board) -> dict[str, tuple[int | None, int | None]]:
    return {
        label: (pin.change_group, pin.change_bit)
        for label, pin in board.pins.items()
        if pin.change_group is not None
    }


@pytest.mark.parametrize("board", boards(), ids=lambda board: board.name)
def test_a_change_group_reads_one_port(board: Board) -> None:
    """The pulse reader stamps one port per group; D0 of the mega shares a group but is reserved."""
    ports: dict[int, set[str]] = {}
    for pin in board.pins.values():
        if pin.change_group is not None and not pin.reserved:
            ports.setdefault(pin.change_group, set()).add(pin.port)
    assert all(len(found) == 1 for found in ports.values())


@pytest.mark.parametrize("board", boards(), ids=lambda board: board.name)
def test_memory_and_upload_are_those_of_the_core(board: Board) -> None:
    text = (VARIANTS.parent / "boards.txt").read_text(encoding="utf-8")
    prefix = {"nano": "nano.menu.cpu.atmega328", "mega": "mega.menu.cpu.atmega2560"}
    cpu = prefix.get(board.name, board.name)

    def value(key: str) -> str:
        for start in (cpu, board.name):
            match = re.search(rf"^{re.escape(start)}\.{re.escape(key)}=(.*)$", text, re.MULTILINE)
            if match is not None:
                return match.group(1)
        raise AssertionError(key)

    assert board.flash_bytes - board.bootloader_bytes == int(value("upload.maximum_size"))
    assert board.ram_bytes == int(value("upload.maximum_data_size"))
    assert board.mcu == value("build.mcu")
    assert board.arduino.variant == value("build.variant")
    assert board.arduino.define == value("build.board")
    assert f"{board.clock_hz}L" == value("build.f_cpu")
    assert board.upload.protocol == value("upload.protocol")
    assert board.upload.baud == int(value("upload.speed"))
    touch = re.search(rf"^{board.name}\.upload\.use_1200bps_touch=true$", text, re.MULTILINE)
    assert board.upload.touch == (touch is not None)


def test_the_older_boot_loader_is_that_of_the_core() -> None:
    text = (VARIANTS.parent / "boards.txt").read_text(encoding="utf-8")
    older = {
        name: int(baud)
        for name, baud in re.findall(r"^(\w+)\.menu\.cpu\.\w+old\.upload\.speed=(\d+)$", text, re.M)
    }
    assert older == {
        board.name: board.upload.older_baud
        for board in boards()
        if board.upload.older_baud is not None
    }


@pytest.mark.parametrize("board", boards(), ids=lambda board: board.name)
def test_every_compare_of_a_timer_reaches_one_pin(board: Board) -> None:
    on_pins = sorted(pin.compare for pin in board.pins.values() if pin.compare)
    assert on_pins == sorted(compare for timer in board.timers for compare in timer.compares)
    assert board.software_servos_take != board.time_base.number
    assert all(label in board.pins for label in board.aliases.values())


def test_a_board_file_that_is_wrong_says_so(tmp_path: Path) -> None:
    path = tmp_path / "odd.yaml"
    path.write_text("title: Odd\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"odd\.yaml: KeyError: 'memory'"):
        read_board(path)
