"""Boards: what each pin can do, what the chip can carry, and what a compiler has to know.

A board is one YAML file in `boards/`; nothing about a particular board is written anywhere else.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

from gen.resources import resource

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class Pin:
    """One pin as labelled on the board.

    `port` and `bit` are its place on the chip ("B", 1); a pin that can only measure has port "".
    `change_group` and `change_bit` name its pin-change interrupt (bit of PCMSKn), None without one.
    `compare` is the output of a 16-bit timer on this pin ("OC1A"), `dims` that of an 8-bit one
    which only dims lights ("OC2B"), `analogue` its channel of the analogue converter. `reserved`
    says why a ship may not use it, "" if it may. `sink_group` and `source_group` are indices into
    `Limits.sink` and `Limits.source`.
    """

    name: str
    port: str
    bit: int
    change_group: int | None
    change_bit: int | None
    compare: str | None
    dims: str | None
    analogue: int | None
    reserved: str
    sink_group: int | None
    source_group: int | None

    @property
    def servo_timer(self) -> int | None:
        """The number of the timer behind `compare`."""
        return int(self.compare[2]) if self.compare is not None else None

    @property
    def digital(self) -> bool:
        """Whether it can be read or driven as a line at all."""
        return self.port != ""


@dataclass(frozen=True, slots=True)
class Timer:
    """A 16-bit timer and the compare outputs that reach a pin. The time base counts 40,000 half
    microseconds a turn (fast PWM, top in ICR, prescaler 8) and stamps every edge, so its compare
    outputs still make servo pulses."""

    number: int
    bits: int
    compares: tuple[str, ...]
    time_base: bool


@dataclass(frozen=True, slots=True)
class CurrentGroup:
    """Pins whose currents add up to at most `most_ma`; `places` are "B0", "D5" …"""

    text: str
    places: frozenset[str]
    most_ma: int
    clause: str


@dataclass(frozen=True, slots=True)
class Limits:
    """What the chip may carry, in milliamperes, each with the clause of its datasheet."""

    pin_absolute_ma: int
    pin_guaranteed_ma: int
    pin_clause: str
    chip_ma: int
    chip_clause: str
    sink: tuple[CurrentGroup, ...]
    source: tuple[CurrentGroup, ...]


@dataclass(frozen=True, slots=True)
class Watchdog:
    """The chip's watchdog: it resets the chip after so many `cycles` of an oscillator of its own,
    which has `usual_hz`, and `slowest_hz` at worst; `reset_ms` later the first instruction runs."""

    cycles: int
    usual_hz: int
    slowest_hz: int
    reset_ms: int
    clause: str

    @property
    def latest_ms(self) -> int:
        """How long a chip hangs at most before it is reset."""
        return -(-self.cycles * 1000 // self.slowest_hz)


@dataclass(frozen=True, slots=True)
class Arduino:
    """What compiling with the board makers' core needs; USB ids are "" on a chip without USB."""

    core: str
    variant: str
    define: str
    usb_vid: str
    usb_pid: str
    usb_product: str


@dataclass(frozen=True, slots=True)
class Upload:
    """How a sketch gets into the board. `older_baud` is the rate of older boards of the same kind,
    None if there are none. `touch`: the chip has USB itself, and its loader is started by opening
    the port of what runs on it at 1200 baud."""

    protocol: str
    baud: int
    older_baud: int | None
    touch: bool


@dataclass(frozen=True, slots=True)
class LinkPort:
    """The chip's serial port that the link uses: its number, and its interrupt for what comes."""

    usart: int
    vector: str


SIDES = ("left", "right", "inner end", "outer end")


@dataclass(frozen=True, slots=True)
class Header:
    """One row of pins as printed on the board, seen with the USB plug up: the pin next to the plug
    first or, at the far end of the board, the one furthest to the right. `side` is one of SIDES."""

    side: str
    pins: tuple[str, ...]


@dataclass(frozen=True)
class Board:
    """One board. `software_servos_most` servos may be switched by the processor; as soon as there
    is one, the timer `software_servos_take` is taken for them."""

    name: str
    title: str
    chip: str
    mcu: str
    clock_hz: int
    flash_bytes: int
    bootloader_bytes: int
    ram_bytes: int
    eeprom_bytes: int
    arduino: Arduino
    upload: Upload
    link: LinkPort
    watchdog: Watchdog
    timers: tuple[Timer, ...]
    software_servos_most: int
    software_servos_take: int
    pins: Mapping[str, Pin]
    aliases: Mapping[str, str]
    headers: tuple[Header, ...]
    limits: Limits

    def pin(self, label: str) -> Pin | None:
        """The pin of this label or alias, None if the board has no such pin."""
        return self.pins.get(self.aliases.get(label, label))

    @cached_property
    def time_base(self) -> Timer:
        """The timer that stamps edges and makes the tick."""
        return next(timer for timer in self.timers if timer.time_base)


def board_names() -> list[str]:
    """The boards there are, in alphabetical order."""
    return sorted(path.stem for path in resource("boards").glob("*.yaml"))


@lru_cache
def load_board(name: str) -> Board:
    """The board of this name. Raises KeyError if there is none, ValueError if its file is wrong."""
    if name not in board_names():
        raise KeyError(name)
    return read_board(resource("boards") / f"{name}.yaml")


def read_board(path: Path) -> Board:
    """The board that this file describes. Raises ValueError, naming the file, if it is wrong."""
    import yaml  # noqa: PLC0415 - kept away from the start of the command line

    # The base loader leaves every scalar a text: nothing is guessed ("no", "0x10", "010").
    loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    try:
        data = yaml.load(path.read_text(encoding="utf-8"), Loader=loader)  # noqa: S506 - the base loader makes only texts
        return _board(path.stem, data)
    except (yaml.YAMLError, KeyError, TypeError, AttributeError, ValueError) as error:
        raise ValueError(f"{path.name}: {type(error).__name__}: {error}") from error


def _board(name: str, data: dict[str, Any]) -> Board:
    memory, limits, arduino, upload, watchdog = (
        data[key] for key in ("memory", "limits", "arduino", "upload", "watchdog")
    )
    sink, source = (_groups(limits[way]) for way in ("sink", "source"))
    return Board(
        name=name,
        title=data["title"],
        chip=data["chip"],
        mcu=data["mcu"],
        clock_hz=int(data["clock_hz"]),
        flash_bytes=int(memory["flash"]),
        bootloader_bytes=int(memory["bootloader"]),
        ram_bytes=int(memory["ram"]),
        eeprom_bytes=int(memory["eeprom"]),
        arduino=Arduino(
            core=arduino["core"],
            variant=arduino["variant"],
            define=arduino["define"],
            usb_vid=arduino.get("usb_vid", ""),
            usb_pid=arduino.get("usb_pid", ""),
            usb_product=arduino.get("usb_product", ""),
        ),
        upload=Upload(
            protocol=upload["protocol"],
            baud=int(upload["baud"]),
            older_baud=int(upload["older_baud"]) if "older_baud" in upload else None,
            touch=upload["touch"] == "yes",
        ),
        link=LinkPort(int(data["link"]["usart"]), data["link"]["vector"]),
        watchdog=Watchdog(
            cycles=int(watchdog["cycles"]),
            usual_hz=int(watchdog["usual_hz"]),
            slowest_hz=int(watchdog["slowest_hz"]),
            reset_ms=int(watchdog["reset_ms"]),
            clause=watchdog["clause"],
        ),
        timers=tuple(
            Timer(
                number=int(number),
                bits=int(timer["bits"]),
                compares=tuple(timer["compares"]),
                time_base=timer.get("use") == "time base",
            )
            for number, timer in data["timers"].items()
        ),
        software_servos_most=int(data["software_servos"]["most"]),
        software_servos_take=int(data["software_servos"]["takes"]),
        pins={label: _pin(label, pin, sink, source) for label, pin in data["pins"].items()},
        aliases=data.get("aliases", {}),
        headers=tuple(_header(header) for header in data["headers"]),
        limits=Limits(
            pin_absolute_ma=int(limits["pin"]["absolute_ma"]),
            pin_guaranteed_ma=int(limits["pin"]["guaranteed_ma"]),
            pin_clause=limits["pin"]["clause"],
            chip_ma=int(limits["chip"]["most_ma"]),
            chip_clause=limits["chip"]["clause"],
            sink=sink,
            source=source,
        ),
    )


def _header(data: dict[str, Any]) -> Header:
    if data["side"] not in SIDES:
        raise ValueError(f"a header is at {data['side']}, not at one of {', '.join(SIDES)}")
    return Header(data["side"], tuple(data["pins"]))


def _pin(
    label: str,
    data: dict[str, Any],
    sink: tuple[CurrentGroup, ...],
    source: tuple[CurrentGroup, ...],
) -> Pin:
    place = data.get("at", "").removeprefix("P")
    change = data.get("change", [None, None])
    return Pin(
        name=label,
        port=place[:1],
        bit=int(place[1:] or 0),
        change_group=None if change[0] is None else int(change[0]),
        change_bit=None if change[1] is None else int(change[1]),
        compare=data.get("compare"),
        dims=data.get("dims"),
        analogue=int(data["analogue"]) if "analogue" in data else None,
        reserved=data.get("reserved", ""),
        sink_group=_group_of(place, sink),
        source_group=_group_of(place, source),
    )


def _group_of(place: str, groups: tuple[CurrentGroup, ...]) -> int | None:
    if not place:
        return None
    found = [index for index, group in enumerate(groups) if place in group.places]
    if len(found) != 1:
        raise ValueError(f"P{place} must be in exactly one current group, not in {len(found)}")
    return found[0]


def _groups(data: dict[str, Any]) -> tuple[CurrentGroup, ...]:
    return tuple(
        CurrentGroup(
            text=", ".join(f"P{ports}" for ports in group["ports"]),
            places=frozenset(place for ports in group["ports"] for place in _places(ports)),
            most_ma=int(group["most_ma"]),
            clause=data["clause"],
        )
        for group in data["groups"]
    )


def _places(ports: str) -> list[str]:
    """The single places of a range: "B0-5" -> B0, B1, … B5."""
    match = re.fullmatch(r"([A-L])([0-7])(?:-([0-7]))?", ports)
    if match is None:
        raise ValueError(f"{ports} is no port range such as B0-5")
    port, first, last = match.groups()
    return [f"{port}{bit}" for bit in range(int(first), int(last or first) + 1)]
