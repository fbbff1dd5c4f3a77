"""Ports: what there is to plug into, opening one, and plain words for what goes wrong.

A port is a serial device (`/dev/ttyUSB0`, `/dev/ttyACM0`, `/dev/cu.usbserial-10`, `COM3`) or a
simulated board's `socket://127.0.0.1:PORT`, with `?speed=10` behind it where that runs faster than
real time. Opening a serial device resets boards that have a USB
chip of their own (nano, mega); a micro goes on.
"""

from __future__ import annotations

import errno
import re
import sys
import time
from typing import TYPE_CHECKING, NamedTuple, Protocol

import serial
from serial.tools import list_ports

from gen.diagnostics import nearest, show
from host_tools.link.errors import LinkError

if TYPE_CHECKING:
    from collections.abc import Sequence

BAUD = 115_200
TOUCH_BAUD = 1200
"""At which boards with USB on their chip start their boot loader."""

MOST_AT_ONCE = 4096

BREATH_S = 0.002
"""How long one look at a port takes: less than half a tick, so that pulses leave on time."""

WRITE_S = 1.0
"""A port that takes nothing for so long is stuck: a line of the link takes 6 ms."""


class Port(Protocol):
    """Bytes to and from one board, which runs `speed` times as fast as a real one."""

    name: str
    speed: float

    def read(self, wait_s: float) -> bytes:
        """What has arrived, after `wait_s` at the latest; empty if nothing.

        Raises LinkError (`port-gone`).
        """
        ...

    def write(self, data: bytes) -> None:
        """Sends all of it. Raises LinkError (`port-gone`)."""
        ...

    def close(self) -> None:
        """Lets go of it; never raises."""
        ...


class FoundPort(NamedTuple):
    """A serial device of this computer; `usb` is what it calls itself, "" if it is on no USB."""

    device: str
    usb: str

    def told(self) -> str:
        """For a list: "/dev/ttyUSB0  USB Serial (1a86:7523)"."""
        return f"{self.device}  {self.usb or 'not on USB'}"


class SerialPort:
    """A serial device or a socket, by pyserial."""

    def __init__(self, name: str) -> None:
        self.name = name
        _refuse_other_schemes(name)
        address, self.speed = _address(name)
        try:
            self._serial = serial.serial_for_url(
                address, baudrate=BAUD, timeout=BREATH_S, write_timeout=WRITE_S, exclusive=True
            )
        except (OSError, ValueError) as error:  # a SerialException is an OSError
            raise _why_not(name, error) from error

    def read(self, wait_s: float) -> bytes:
        until = time.monotonic() + wait_s
        while True:
            try:
                data = bytes(self._serial.read(MOST_AT_ONCE))
            except (OSError, TypeError) as error:
                # TypeError: pyserial trips over a device that is torn out while it waits.
                raise self._gone() from error
            if data or time.monotonic() >= until:
                return data

    def write(self, data: bytes) -> None:
        try:
            self._serial.write(data)
        except OSError as error:
            raise self._gone() from error

    def close(self) -> None:
        try:
            self._serial.close()
        except OSError:
            return  # it went by itself

    def _gone(self) -> LinkError:
        return LinkError("port-gone", f"{self.name} is gone", board_fell_short=True)


def touch(name: str) -> None:
    """Opens and closes a port at 1200 baud. Raises LinkError as opening it to speak does."""
    _refuse_other_schemes(name)
    try:
        port = serial.serial_for_url(name, baudrate=TOUCH_BAUD, do_not_open=True, exclusive=True)
        port.dtr = False  # which tells the board that it is closed
        port.open()
        port.close()
    except (OSError, ValueError) as error:
        raise _why_not(name, error) from error


def found_ports() -> list[FoundPort]:
    """The serial devices of this computer, those on USB first."""
    found = []
    for port in list_ports.comports():
        usb = ""
        if port.vid is not None:
            words = port.product or port.description or "USB"
            usb = f"{words} ({port.vid:04x}:{port.pid or 0:04x})"
        found.append(FoundPort(port.device, usb))
    return sorted(found, key=lambda one: (not one.usb, one.device))


def chosen_port(named: str | None) -> str:
    """The port that was named or, where none was, the only one on USB.

    Raises LinkError (`which-port`).
    """
    if named is not None:
        return named
    found = found_ports()
    on_usb = [port for port in found if port.usb]
    if len(on_usb) == 1:
        return on_usb[0].device
    what = "there is no board on USB" if not on_usb else "there are several devices on USB"
    told = "; ".join(port.told() for port in on_usb)
    raise LinkError("which-port", what + (f": {told}" if told else ""))


def _address(name: str) -> tuple[str, float]:
    """What pyserial opens, and how fast the board there is."""
    address, asked, speed = name.partition("?speed=")
    if not asked:
        return name, 1.0
    if not re.fullmatch(r"[0-9]{1,6}(\.[0-9]{1,6})?", speed):
        return name, 1.0
    return address, min(max(float(speed), 0.001), 1000.0)


def is_loopback(name: str) -> bool:
    """Whether a port is a TCP port of this very computer, as that of a simulated board."""
    return re.match(r"socket://(127\.0\.0\.1|localhost):[0-9]+(\?|$)", name) is not None


def _refuse_other_schemes(name: str) -> None:
    """Raises LinkError (`port-missing`) for what pyserial knows beside devices and `socket://`,
    such as `spy://`, which writes files."""
    if "://" in name and not name.startswith("socket://"):
        raise LinkError("port-missing", f"{show(name)} is neither a serial device nor a socket://")


def _why_not(name: str, error: Exception) -> LinkError:
    """Why a port could not be opened, and what to do. On Windows pyserial gives the system's error
    as text only."""
    number = getattr(error, "errno", None)
    text = str(error)
    on_windows = sys.platform == "win32"
    if number in (errno.EBUSY, errno.EAGAIN) or "exclusively lock" in text:
        return LinkError("port-busy", f"{show(name)} is in use by another program")
    if number in (errno.EACCES, errno.EPERM) or "PermissionError" in text:
        if on_windows:  # where a port that another program holds is "access denied"
            return LinkError("port-busy", f"{show(name)} is in use by another program")
        return LinkError("port-denied", f"you may not use {show(name)}")
    if name.startswith("socket://"):
        return LinkError(
            "port-missing",
            f"nothing answers at {show(name)}",
            "`pinrail bench SHIP --serve` starts a simulated board and tells its port",
        )
    return LinkError(
        "port-missing", f"there is no port {show(name)}", _near(name, [*map(str, _devices())])
    )


def _devices() -> list[str]:
    return [port.device for port in found_ports()]


def _near(name: str, devices: Sequence[str]) -> str:
    if name.startswith("/dev/tty.") and name.replace("/dev/tty.", "/dev/cu.") in devices:
        return f"did you mean {show(name.replace('/dev/tty.', '/dev/cu.'))}?"
    if not devices:
        return (
            "no serial port is there at all: is the board plugged in, with a cable that has data?"
        )
    return nearest(name, devices) or "there are: " + ", ".join(devices)
