"""The commands that speak with a board, over real bytes on a loopback TCP port."""

from __future__ import annotations

import json
import socket
import subprocess
import threading
import time
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest

from gen.load import load
from host_tools.cli.ships import starters
from host_tools.formats.read_table import read_table, read_trace
from host_tools.link.simulated.board import ModelBoard, bench_of
from host_tools.link.simulated.sources import at_rest, switched_off, thumbs
from tests.host_tools.link.wires import served

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from pytest_mock import MockerFixture

    from gen.plan import Plan
    from host_tools.trace import Trace
    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

SPEED = 20.0
"""Fast, and slow enough for a busy machine: a tick is a quarter of a millisecond."""

PLAY_SPEED = 4.0
"""Pulses are sent in time, and a computer is a few milliseconds late now and then."""


def make(run: Run, starter: str = "tender") -> Plan:
    assert run("new", starter).code == 0
    return load(starters()[starter]).plan


def board(
    plan: Plan, receives: Callable[[], Iterable[Trace]] | None = None, *, jumper: bool = True
) -> ModelBoard:
    return ModelBoard(
        plan,
        receives or (lambda: thumbs(plan, 1)),
        bench=bench_of(plan, jumper_fitted=jumper),
    )


class PulledBoard(ModelBoard):
    """Its cable is pulled so many ticks after the host has first said something, however long that
    took on a busy machine."""

    LATER_TICKS = 6_000

    def __init__(self, plan: Plan, pulled: threading.Event) -> None:
        self._pulled = pulled
        self._ticks_since = -1
        super().__init__(plan, lambda: thumbs(plan, 1), bench=bench_of(plan, jumper_fitted=True))

    def tick(self, data: bytes) -> bytes:
        if data or self._ticks_since >= 0:
            self._ticks_since += 1
        if self._ticks_since == self.LATER_TICKS:
            self._pulled.set()
        return super().tick(data)


def test_the_ports(run: Run, mocker: MockerFixture) -> None:
    port = SimpleNamespace(device="COM3", product="USB Serial", description="", vid=1, pid=2)
    mocker.patch("serial.tools.list_ports.comports", return_value=[port])
    told = run("bench")
    assert told.code == 0
    assert "COM3  USB Serial (0001:0002)" in told.out
    assert run("bench", "--json").json["ports"] == [
        {"device": "COM3", "usb": "USB Serial (0001:0002)"}
    ]


def test_live_agreement(run: Run) -> None:
    plan = make(run)
    with served(board(plan), SPEED) as port:
        told = run("bench", "tender.yaml", "--no-page", "--port", port, "--for", "3s", "--json")
    assert told.code == 0, told.out + told.err
    assert told.json["agree"]
    assert told.json["ticks"] > 1_000


def test_a_cable_that_is_pulled_and_plugged_in_again(run: Run) -> None:
    plan = make(run)
    pulled = threading.Event()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        number = free.getsockname()[1]

    def plug_in_and_out_and_in() -> None:
        with served(PulledBoard(plan, pulled), SPEED, pulled, number):
            pulled.wait()
        with served(board(plan), SPEED, number=number):
            done.wait()

    done = threading.Event()
    cable = threading.Thread(target=plug_in_and_out_and_in)
    cable.start()
    time.sleep(0.3)
    port = f"socket://127.0.0.1:{number}?speed={SPEED:g}"
    told = run("bench", "tender.yaml", "--no-page", "--port", port, "--for", "6s")
    done.set()
    cable.join()
    assert told.code == 0, told.out + told.err
    assert "plug it in again to go on" in told.out
    assert "from 2 starts" in told.out


def test_a_board_that_errs(run: Run) -> None:
    plan = make(run)
    other = board(plan)
    threading.Timer(1.5, lambda: setattr(other._model._run, "sum", 0)).start()
    with served(other, SPEED) as port:
        told = run("bench", "tender.yaml", "--no-page", "--port", port, "--for", "20s")
    assert told.code == 1
    assert "board and model part in digest at tick" in told.out
    (trace,) = Path().glob("*.trace")
    assert read_trace(trace).ship == plan.ship
    assert str(trace) in told.out


def test_a_board_with_another_plan(run: Run) -> None:
    make(run)
    launch = make(run, "launch")
    assert run("trial", "launch.yaml").code == 0
    with served(board(launch), SPEED) as port:
        for command in (
            ("bench", "tender.yaml", "--no-page", "--port", port, "--for", "1s"),
            ("record", "tender.yaml", "--port", port, "--for", "1s", "--save", "x.trace"),
            ("force", "tender.yaml", "horn", "on", "--port", port, "--yes"),
            ("trial", "tender.yaml", "--on", port, "--yes"),
        ):
            told = run(*command)
            assert told.code == 2, command
            assert "error[other-plan]" in told.err
            assert launch.plan_id in told.err
    assert not Path("x.trace").exists()


def test_who_it_is_and_which_commit_that_was(run: Run) -> None:
    plan = make(run)
    folder = Path("ships")
    folder.mkdir()
    Path("tender.yaml").rename(folder / "tender.yaml")
    git = ["git", "-C", "ships", "-c", "user.name=A", "-c", "user.email=a@example.org"]
    subprocess.run([*git, "init", "-q"], check=True)
    subprocess.run([*git, "add", "-A"], check=True)
    subprocess.run([*git, "commit", "-qm", "As she was launched"], check=True)
    (folder / "tender.yaml").unlink()
    with served(board(plan), SPEED) as port:
        told = run("identify", "--port", port, "--in", "ships")
        assert told.code == 0, told.err
        assert plan.plan_id in told.out
        assert "tender.yaml, commit " in told.out
        assert "As she was launched" in told.out
        found = run("identify", "--port", port, "--in", "ships", "--json").json
        assert [one["subject"] for one in found["versions"]] == ["As she was launched"]
        assert found["board"] == plan.board
        elsewhere = run("identify", "--port", port, "--in", ".")
    assert elsewhere.code == 2
    assert "error[not-a-repository]" in elsewhere.err


def test_a_plan_that_is_in_no_commit(run: Run) -> None:
    plan = make(run)
    Path("ships").mkdir()
    subprocess.run(["git", "-C", "ships", "init", "-q"], check=True)
    with served(board(plan), SPEED) as port:
        told = run("identify", "--port", port, "--in", "ships")
    assert told.code == 1
    assert "no ship file in ships" in told.out


def test_a_recording(run: Run) -> None:
    plan = make(run)
    with served(board(plan), SPEED) as port:
        told = run("record", "tender.yaml", "--port", port, "--for", "10s", "--save", "x.trace")
    assert told.code == 0, told.err
    trace, driven = read_table(Path("x.trace"))
    assert trace.channels == tuple(one.name for one in plan.inputs)
    assert trace.ticks >= 1_900
    assert driven.line_names == tuple(line.name for line in plan.lines)
    assert run("replay", "tender.yaml", "x.trace").code == 0
    again = run("record", "tender.yaml", "--port", "COM9", "--for", "1s", "--save", "x.trace")
    assert "error[exists]" in again.err


def test_a_recording_without_a_ship_file(run: Run) -> None:
    plan = make(run)
    with served(board(plan), SPEED) as port:
        assert run("record", "--port", port, "--for", "5s", "--save", "x.trace").code == 0
    trace = read_trace(Path("x.trace"))
    assert trace.channels == tuple(one.pin for one in plan.inputs)
    assert trace.plan_id == plan.plan_id


def test_a_recording_whose_cable_is_pulled(run: Run) -> None:
    plan = make(run)
    pulled = threading.Event()
    with served(PulledBoard(plan, pulled), SPEED, pulled) as port:
        told = run("record", "tender.yaml", "--port", port, "--save", "x.trace")
    assert told.code == 1
    assert "error[port-gone]" in told.err
    assert "up to tick" in told.out
    assert read_trace(Path("x.trace")).ticks > 200


def test_a_force(run: Run) -> None:
    plan = make(run)
    with served(board(plan, lambda: switched_off(plan)), PLAY_SPEED) as port:
        told = run("force", "tender.yaml", "horn", "on", "--port", port, "--for", "1s")
        assert told.code == 0, told.out + told.err
        assert "horn was on, and is free again" in told.out


def test_a_force_that_a_condition_keeps_off(run: Run) -> None:
    make(run)
    file = Path("tender.yaml")
    text = file.read_text()
    file.write_text(
        text.replace("drives: work relay", "drives: work relay\n    only while: deck lights")
    )
    plan = load(file).plan
    with served(board(plan, lambda: switched_off(plan)), PLAY_SPEED) as port:
        told = run("force", "tender.yaml", "work lights", "on", "--port", port)
    assert told.code == 1
    assert "error[board-refused]" in told.err
    assert "work lights may not be on now: only while deck lights" in told.err


def test_forces_that_are_none(run: Run) -> None:
    make(run)
    told = run("force", "tender.yaml", "hron", "on", "--port", "COM9")
    assert (told.code, "did you mean 'horn'?" in told.err) == (2, True)
    told = run("force", "tender.yaml", "horn", "onn", "--port", "COM9")
    assert (told.code, "did you mean 'on'?" in told.err) == (2, True)


def test_a_force_of_what_moves_wants_a_yes(run: Run, mocker: MockerFixture) -> None:
    plan = make(run)
    mocker.patch("host_tools.cli.force.is_simulated", return_value=False)
    with served(board(plan, lambda: switched_off(plan)), PLAY_SPEED) as port:
        command = ("force", "tender.yaml", "davit", "lowering", "--port", port, "--for", "1s")
        told = run(*command)
        assert told.code == 2
        assert "CAUTION" in told.out
        assert "error[not-agreed]" in told.err
        assert run(*command, "--yes").code == 0


def test_no_jumper_no_force(run: Run) -> None:
    plan = make(run, "cutter")
    with served(board(plan, jumper=False), PLAY_SPEED) as port:
        told = run("force", "cutter.yaml", "fan", "on", "--port", port)
    assert told.code == 2
    assert "error[bench-off]" in told.err
    assert "tie D11 to ground" in told.err


def test_trials_on_a_board(run: Run) -> None:
    plan = make(run)
    with served(board(plan, lambda: switched_off(plan)), PLAY_SPEED) as port:
        told = run("trial", "tender.yaml", "--on", port, "--only", "deck and work lights are apart")
        assert told.code == 0, told.out + told.err
        assert f"1 of 1 trials passed on {port}" in told.out
        assert run("trial", "tender.yaml", "--on", port, "--json", "--only", "x").code == 2


def test_a_replay_on_a_board(run: Run) -> None:
    plan = make(run)
    name = "deck and work lights are apart"
    assert run("trial", "tender.yaml", "--only", name, "--save", ".").code == 0
    (file,) = map(str, Path().glob("*.trace"))
    on_model = run("replay", "tender.yaml", file, "--json").json["functions"]
    with served(board(plan, lambda: switched_off(plan)), PLAY_SPEED) as port:
        told = run("replay", "tender.yaml", file, "--on", port, "--json")
        assert told.code == 0, told.out
        on_board = {one["function"]: one["times"] for one in told.json["functions"]}
        assert on_board == {one["function"]: one["times"] for one in on_model}
        text = Path(file).read_text().replace(f"# ship: {plan.ship}", "# ship: Another")
        Path("other.trace").write_text(text)
        other = run("replay", "tender.yaml", "other.trace", "--on", port)
    assert other.code == 2
    assert "error[other-ship]" in other.err


def test_a_trial_while_the_receiver_is_on(run: Run) -> None:
    plan = make(run)
    with served(board(plan, lambda: at_rest(plan)), PLAY_SPEED) as port:
        told = run("trial", "tender.yaml", "--on", port)
    assert told.code == 2
    assert "error[receiver-heard]" in told.err


@pytest.mark.parametrize("on", ["firmwre", "moon"])
def test_no_rung_and_no_port(run: Run, on: str) -> None:
    make(run)
    told = run("trial", "tender.yaml", "--on", on)
    assert told.code == 2
    assert "error[usage]" in told.err


def test_a_port_that_is_not_there(run: Run, mocker: MockerFixture) -> None:
    make(run)
    mocker.patch("serial.tools.list_ports.comports", return_value=[])
    for command in (
        ("bench", "tender.yaml", "--no-page", "--port", "/dev/ttyUSB9"),
        ("identify", "--port", "/dev/ttyUSB9"),
        ("identify",),
        ("trial", "tender.yaml", "--on", "/dev/ttyUSB9", "--yes"),
    ):
        told = run(*command)
        assert told.code == 2
        assert "error[port-missing]" in told.err or "error[which-port]" in told.err


def test_a_simulated_board_that_nobody_plugs_in(run: Run) -> None:
    make(run)
    told = run("bench", "tender.yaml", "--serve", "--for", "0.2s", "--json")
    assert told.code == 0
    assert json.loads(told.out)["port"].startswith("socket://127.0.0.1:")
