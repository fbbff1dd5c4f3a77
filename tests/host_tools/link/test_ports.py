"""Ports: plain words for everything that can be wrong with one."""

from __future__ import annotations

import errno
import os
import socket
import sys
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
import serial

from host_tools.link.errors import LinkError
from host_tools.link.ports import FoundPort, SerialPort, chosen_port, found_ports

if TYPE_CHECKING:
    from pytest_mock import MockerFixture


def plugged_in(mocker: MockerFixture, *found: tuple[str, str | None, int | None]) -> None:
    mocker.patch(
        "serial.tools.list_ports.comports",
        return_value=[
            SimpleNamespace(device=device, product=product, description="n/a", vid=vid, pid=0x7523)
            for device, product, vid in found
        ],
    )


def why(mocker: MockerFixture, name: str, error: Exception) -> LinkError:
    mocker.patch("serial.serial_for_url", side_effect=error)
    with pytest.raises(LinkError) as raised:
        SerialPort(name)
    return raised.value


def failed(number: int, name: str) -> serial.SerialException:
    """As pyserial says it on Linux and macOS."""
    text = f"could not open port {name}: [Errno {number}] {os.strerror(number)}: '{name}'"
    return serial.SerialException(number, text)


def failed_on_windows(kind: str, number: int, name: str) -> serial.SerialException:
    """As pyserial says it on Windows: the system's error as text."""
    return serial.SerialException(f"could not open port '{name}': {kind}({number}, 'x', None, 5)")


def test_permission(mocker: MockerFixture) -> None:
    error = why(mocker, "/dev/ttyUSB0", failed(errno.EACCES, "/dev/ttyUSB0"))
    assert error.code == "port-denied"
    assert "dialout" in error.hint


@pytest.mark.parametrize("number", [errno.EBUSY, errno.EAGAIN])
def test_busy(mocker: MockerFixture, number: int) -> None:
    assert why(mocker, "/dev/ttyUSB0", failed(number, "/dev/ttyUSB0")).code == "port-busy"


def test_not_there(mocker: MockerFixture) -> None:
    plugged_in(mocker, ("/dev/ttyUSB0", "USB Serial", 0x1A86))
    error = why(mocker, "/dev/ttyUSB1", failed(errno.ENOENT, "/dev/ttyUSB1"))
    assert error.code == "port-missing"
    assert error.hint == "did you mean '/dev/ttyUSB0'?"


def test_nothing_is_there(mocker: MockerFixture) -> None:
    plugged_in(mocker)
    error = why(mocker, "/dev/ttyUSB1", failed(errno.ENOENT, "/dev/ttyUSB1"))
    assert "plugged in" in error.hint


def test_windows(mocker: MockerFixture) -> None:
    mocker.patch.object(sys, "platform", "win32")
    plugged_in(mocker, ("COM7", "USB Serial", 0x1A86))
    missing = why(mocker, "COM3", failed_on_windows("FileNotFoundError", 2, "COM3"))
    assert (missing.code, missing.hint) == ("port-missing", "did you mean 'COM7'?")
    assert why(mocker, "COM7", failed_on_windows("PermissionError", 13, "COM7")).code == "port-busy"


def test_macos(mocker: MockerFixture) -> None:
    plugged_in(mocker, ("/dev/cu.usbserial-10", "USB Serial", 0x1A86))
    error = why(mocker, "/dev/tty.usbserial-10", failed(errno.ENOENT, "/dev/tty.usbserial-10"))
    assert error.hint == "did you mean '/dev/cu.usbserial-10'?"


def test_another_kind_of_address(mocker: MockerFixture) -> None:
    plugged_in(mocker)
    assert why(mocker, "sock://x", ValueError("invalid URL")).code == "port-missing"


def test_nobody_listens_there() -> None:
    with socket.socket() as unused:
        unused.bind(("127.0.0.1", 0))
        number = unused.getsockname()[1]
    with pytest.raises(LinkError) as raised:
        SerialPort(f"socket://127.0.0.1:{number}")
    assert raised.value.code == "port-missing"
    assert "--serve" in raised.value.hint


@pytest.mark.parametrize(
    "error",
    [
        serial.SerialException("device reports readiness to read but returned no data"),
        OSError(errno.EIO, "Input/output error"),
        TypeError("'NoneType' object cannot be interpreted as an integer"),
    ],
)
def test_a_cable_that_is_pulled(mocker: MockerFixture, error: Exception) -> None:
    device = mocker.Mock()
    device.read.side_effect = error
    mocker.patch("serial.serial_for_url", return_value=device)
    with pytest.raises(LinkError) as raised:
        SerialPort("/dev/ttyUSB0").read(0.1)
    assert raised.value.code == "port-gone"
    assert raised.value.board_fell_short


def test_a_port_that_takes_nothing(mocker: MockerFixture) -> None:
    device = mocker.Mock()
    device.write.side_effect = serial.SerialTimeoutException("Write timeout")
    mocker.patch("serial.serial_for_url", return_value=device)
    with pytest.raises(LinkError) as raised:
        SerialPort("/dev/ttyUSB0").write(b"x")
    assert raised.value.code == "port-gone"


def test_closing_what_is_gone_is_no_error(mocker: MockerFixture) -> None:
    device = mocker.Mock()
    device.close.side_effect = OSError(errno.EIO, "Input/output error")
    mocker.patch("serial.serial_for_url", return_value=device)
    SerialPort("/dev/ttyUSB0").close()
    device.close.assert_called_once()


def test_a_port_is_opened_for_us_alone_at_the_link_s_rate(mocker: MockerFixture) -> None:
    opened = mocker.patch("serial.serial_for_url")
    SerialPort("COM3")
    assert opened.call_args.args == ("COM3",)
    assert opened.call_args.kwargs["baudrate"] == 115_200
    assert opened.call_args.kwargs["exclusive"] is True


def test_ports_on_usb_come_first_with_their_names(mocker: MockerFixture) -> None:
    plugged_in(mocker, ("/dev/ttyS0", None, None), ("/dev/ttyUSB0", "USB Serial", 0x1A86))
    assert found_ports() == [
        FoundPort("/dev/ttyUSB0", "USB Serial (1a86:7523)"),
        FoundPort("/dev/ttyS0", ""),
    ]
    assert [port.told() for port in found_ports()] == [
        "/dev/ttyUSB0  USB Serial (1a86:7523)",
        "/dev/ttyS0  not on USB",
    ]


def test_the_only_board_is_taken_by_itself(mocker: MockerFixture) -> None:
    plugged_in(mocker, ("/dev/ttyS0", None, None), ("/dev/ttyUSB0", "USB Serial", 0x1A86))
    assert chosen_port(None) == "/dev/ttyUSB0"
    assert chosen_port("COM3") == "COM3"


def test_none_and_two_boards(mocker: MockerFixture) -> None:
    for found in (
        [("/dev/ttyS0", None, None)],
        [("/dev/ttyUSB0", "a", 1), ("/dev/ttyUSB1", "b", 1)],
    ):
        plugged_in(mocker, *found)
        with pytest.raises(LinkError) as raised:
            chosen_port(None)
        assert raised.value.code == "which-port"
