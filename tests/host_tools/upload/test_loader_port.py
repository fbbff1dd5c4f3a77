"""Waiting for the port of a boot loader, on a clock of its own."""

from __future__ import annotations

import pytest

from host_tools.link.errors import LinkError
from host_tools.link.ports import FoundPort
from host_tools.upload import loader_port
from host_tools.upload.loader_port import BUTTON, BUTTON_S, TOUCH_S

SKETCH, LOADER, OTHER = "/dev/ttyACM0", "/dev/ttyACM1", "/dev/ttyUSB0"


class Desk:
    """A computer with some ports, which change at times (seconds)."""

    def __init__(
        self, ports: set[str], changes: dict[float, set[str]], touched: bool = True
    ) -> None:
        self.now = 0.0
        self.said: list[str] = []
        self.touches: list[str] = []
        self._ports = ports
        self._changes = sorted(changes.items())
        self._touched = touched

    def found_ports(self) -> list[FoundPort]:
        ports = self._ports
        for at, then in self._changes:
            ports = then if self.now >= at else ports
        return [FoundPort(port, "USB") for port in sorted(ports)] + [FoundPort("/dev/ttyS0", "")]

    def touch(self, name: str) -> None:
        self.touches.append(name)
        if not self._touched:
            raise LinkError("port-missing", "there is no such port")

    def sleep(self, seconds: float) -> None:
        self.now += seconds

    def loader_port(self, monkeypatch: pytest.MonkeyPatch, named: str | None) -> str:
        monkeypatch.setattr(loader_port, "found_ports", self.found_ports)
        monkeypatch.setattr(loader_port, "touch", self.touch)
        return loader_port.loader_port(
            named, self.said.append, clock=lambda: self.now, sleep=self.sleep
        )


def test_the_port_that_comes_after_the_touch(monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk({SKETCH, OTHER}, {0.5: {OTHER}, 1.5: {OTHER, LOADER}})
    assert desk.loader_port(monkeypatch, SKETCH) == LOADER
    assert (desk.touches, desk.said) == ([SKETCH], [])


def test_a_port_that_leaves_and_comes_back_is_the_loaders(monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk({SKETCH}, {0.5: set(), 1.5: {SKETCH}})
    assert desk.loader_port(monkeypatch, SKETCH) == SKETCH
    assert 1.5 < desk.now < 2.5


def test_where_the_touch_does_nothing_the_button_is_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    desk = Desk({SKETCH}, {TOUCH_S + 5: set(), TOUCH_S + 6: {LOADER}})
    assert desk.loader_port(monkeypatch, SKETCH) == LOADER
    assert desk.said[-1] == BUTTON


def test_a_sketch_without_usb_has_no_port_to_be_touched(monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk({OTHER}, {5: {OTHER, LOADER}}, touched=False)
    assert desk.loader_port(monkeypatch, LOADER) == LOADER
    assert (desk.touches, desk.said) == ([LOADER], [BUTTON])


def test_without_a_name_nothing_is_touched(monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk({OTHER}, {5: {OTHER, LOADER}})
    assert desk.loader_port(monkeypatch, None) == LOADER
    assert (desk.touches, desk.said) == ([], [BUTTON])


def test_nobody_presses_the_button(monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk({OTHER}, {})
    with pytest.raises(LinkError) as told:
        desk.loader_port(monkeypatch, None)
    assert (told.value.code, told.value.board_fell_short) == ("loader-silent", True)
    assert BUTTON_S <= desk.now < BUTTON_S + 1
