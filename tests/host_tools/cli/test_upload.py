"""Upload through real boot loaders: Debian's avrdude speaks over a terminal to a boot loader of
Debian's arduino-core-avr in a simulated chip, which programs its own flash memory and starts the
sketch."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from gen.load import load
from host_tools.cli.ships import starter
from host_tools.upload import avrdude, writing
from host_tools.upload.avrdude import Ended
from tests.firmware.board_on_usb import (
    MEGA,
    NANO,
    NOTHING,
    OLD_NANO,
    SMALLER_CHIP,
    BoardOnUsb,
    Kind,
    board_on_usb,
    cells_of,
)
from tests.host_tools.cli.board_with_usb import board_with_usb

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

pytestmark = [pytest.mark.firmware, pytest.mark.slow]

PATIENCE_S = 60
"""A busy machine runs the chip slower than real time; a board that is silent is not tested so."""

HASTE_S = 0.5
"""For boards that have nothing to say."""


@pytest.fixture
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("host_tools.cli.upload.OPEN_S", PATIENCE_S)
    monkeypatch.setattr("host_tools.link.session.QUIET_S", PATIENCE_S)
    monkeypatch.setattr("host_tools.cli.upload.RUNNING_S", HASTE_S)


def compiled(run: Run, ship: str) -> Path:
    told = run("compile", str(starter(ship)), "--out", "build", "--json")
    assert told.code == 0
    return next(Path(told.json["written"]).glob("*.hex"))


def on_a_micro(text: str) -> str:
    """The launch, with its channels on pins of that board that can interrupt."""
    for old, new in (
        ("board: nano", "board: micro"),
        ("steering:   D2", "steering:   D14"),
        ("deck keys:  D3", "deck keys:  D15"),
        ("bridge key: D4", "bridge key: D16"),
        ("bow key:    D5", "bow key:    D8"),
    ):
        assert old in text
        text = text.replace(old, new)
    return text


def upload(run: Run, ship: str, board: BoardOnUsb) -> Told:
    return run("upload", str(starter(ship)), "--port", board.port, "--json")


def code_of(told: Told) -> str:
    return str(told.json["problems"][-1]["code"])


@pytest.mark.usefixtures("patient")
@pytest.mark.parametrize(
    ("kind", "ship"),
    [(NANO, "launch"), (OLD_NANO, "launch"), (MEGA, "salvor")],
    ids=["optiboot", "older rate", "stk500v2"],
)
def test_a_sketch_gets_into_a_board_and_starts(
    run: Run, tmp_path: Path, kind: Kind, ship: str
) -> None:
    image = cells_of(compiled(run, ship))
    plan = load(starter(ship)).plan
    with board_on_usb(kind, tmp_path) as board:
        told = upload(run, ship, board)
        assert told.code == 0, told
        assert "propellers off, motors' fuse out" in told.err
        assert told.json["holds"] == "new"
        assert told.json["before"] is None  # nothing ran on it
        assert told.json["board"]["plan"] == told.json["plan"] == plan.plan_id
        assert board.ticks > 0
    assert board.holds(image)
    assert board.holds(kind.loader_cells())
    beyond = set(range(max(image) + 1, min(kind.loader_cells())))
    page = range(max(image) + 1, (max(image) | 255) + 1)
    assert {board.flash[address] for address in beyond - set(page)} == {0xFF}
    pins = load(starter(ship)).board.pins
    for line in plan.lines:  # as the sketch's first instructions leave them: driven, and off
        if line.pin in pins:
            directions, levels = board.ports[pins[line.pin].port]
            bit = 1 << pins[line.pin].bit
            assert directions & bit
            assert bool(levels & bit) == line.active_low


@pytest.mark.usefixtures("patient")
def test_what_runs_on_the_board_is_told_before_it_is_replaced(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("host_tools.cli.upload.RUNNING_S", PATIENCE_S)
    sketch = compiled(run, "lightship")
    with board_on_usb(NANO, tmp_path, sketch) as board:
        told = upload(run, "launch", board)
    assert told.code == 0, told
    assert told.json["before"]["plan"] == load(starter("lightship")).plan.plan_id
    assert board.holds(cells_of(compiled(run, "launch")))


@pytest.mark.usefixtures("patient")
def test_a_board_that_says_it_is_another_is_left_alone(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("host_tools.cli.upload.RUNNING_S", PATIENCE_S)
    sketch = compiled(run, "launch")
    with board_on_usb(NANO, tmp_path, sketch) as board:
        told = upload(run, "salvor", board)
    assert (told.code, code_of(told), told.json["holds"]) == (2, "other-board", "old")
    assert "what runs on it says that it is a nano" in told.json["problems"][-1]["what"]
    assert board.holds(cells_of(sketch))


@pytest.mark.usefixtures("patient")
def test_a_chip_with_another_signature_is_left_alone(run: Run, tmp_path: Path) -> None:
    with board_on_usb(SMALLER_CHIP, tmp_path) as board:
        told = upload(run, "launch", board)
    assert (told.code, code_of(told), told.json["holds"]) == (2, "other-board", "old")
    assert "its chip is m168" in told.json["problems"][-1]["what"]
    assert board.holds(NOTHING)
    assert set(board.flash[len(NOTHING) : min(SMALLER_CHIP.loader_cells())]) == {0xFF}


@pytest.mark.usefixtures("patient")
def test_ctrl_c_in_the_middle_says_what_the_board_holds(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    image = cells_of(compiled(run, "launch"))
    hear = writing.Writing._hear  # where Ctrl-C finds us while avrdude writes

    def interrupted(self: writing.Writing, line: str) -> None:
        hear(self, line)
        if self.holds is writing.Holds.PART:
            raise KeyboardInterrupt

    with board_on_usb(NANO, tmp_path) as board:
        with monkeypatch.context() as patch:
            patch.setattr(writing.Writing, "_hear", interrupted)
            told = upload(run, "launch", board)
        assert told.code == 130
        assert told.err.endswith(f"pinrail: {writing.Holds.PART.value}\npinrail: stopped\n")
        again = upload(run, "launch", board)
        assert again.code == 0, again
    assert board.holds(image)


def test_a_chip_with_usb_changes_ports(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ship = tmp_path / "launch.yaml"
    text = starter("launch").read_text(encoding="utf-8")
    ship.write_text(on_a_micro(text), encoding="utf-8")
    built = run("compile", str(ship), "--out", "build", "--json")
    assert built.code == 0, built
    image = cells_of(next(Path(built.json["written"]).glob("*.hex")))
    with board_with_usb() as board:
        monkeypatch.setattr("host_tools.upload.loader_port.found_ports", board.found_ports)
        told = run("upload", str(ship), "--port", board.sketch_port, "--json")
        assert told.code == 0, told
    assert (told.json["holds"], told.json["board"]) == ("new", None)
    assert told.json["port"] == board.loader_port
    assert all(board.flash[address] == byte for address, byte in image.items())


# --- What the real avrdude cannot be brought to do ---


def instead(monkeypatch: pytest.MonkeyPatch, code: int, lines: Sequence[str]) -> None:
    """Has avrdude end so, without touching the board."""

    def run_nothing(_: Sequence[str], hear: Callable[[str], None]) -> Ended:
        for line in lines:
            hear(line)
        return Ended(code, tuple(lines))

    monkeypatch.setattr(avrdude, "run", run_nothing)


@pytest.mark.usefixtures("patient")
def test_a_board_that_runs_another_plan_afterwards_has_fallen_short(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    instead(monkeypatch, 0, [])
    with board_on_usb(NANO, tmp_path, compiled(run, "lightship")) as board:
        told = upload(run, "launch", board)
    assert (told.code, code_of(told)) == (1, "other-plan")
    plan_id = load(starter("lightship")).plan.plan_id
    assert f"runs plan {plan_id}" in told.json["problems"][-1]["what"]


@pytest.mark.usefixtures("patient")
def test_a_board_that_says_nothing_afterwards_has_fallen_short(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("host_tools.cli.upload.OPEN_S", HASTE_S)
    instead(monkeypatch, 0, [])
    with board_on_usb(NANO, tmp_path) as board:
        told = upload(run, "launch", board)
    assert (told.code, code_of(told)) == (1, "port-silent")
    assert "written and verified" in told.json["problems"][-1]["what"]


def test_without_avrdude_its_package_is_named(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for tool in ("avr-g++", "avr-gcc"):
        (tmp_path / tool).symlink_to(shutil.which(tool) or "")
    monkeypatch.setenv("PATH", str(tmp_path))
    told = run("upload", str(starter("launch")), "--port", "/dev/nothing", "--json")
    assert (told.code, code_of(told)) == (2, "no-avrdude")
    assert "apt-get install avrdude" in told.json["problems"][-1]["hint"]


def test_a_port_that_is_not_there_is_told_before_anything_is_written(run: Run) -> None:
    told = run("upload", str(starter("launch")), "--port", "/dev/nothing", "--json")
    assert (told.code, code_of(told), told.json["holds"]) == (2, "port-missing", "old")
