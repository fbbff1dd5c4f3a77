"""A few inputs of each kind, in every check; the long run is `python -m tests.fuzz`."""

from __future__ import annotations

import os
import random
import re
import time
from pathlib import Path

import pytest

from host_tools.cli import main
from tests.fuzz.__main__ import fault_of, judge, target_named
from tests.fuzz.guard import ROOT, Fault, bounded_memory, guarded
from tests.fuzz.shrink import smallest
from tests.fuzz.target import drawn
from tests.fuzz.targets import TARGETS

SHIP = ROOT / "templates" / "ships" / "launch.yaml"

INPUTS = 300
SEED = 7


@pytest.mark.parametrize("name", TARGETS)
def test_inputs_are_borne(name: str) -> None:
    judged = judge(name, SEED, 0, INPUTS)
    assert [f"{one.number}: {one.why}" for one in judged.failures] == []
    assert judged.came_of.total() == INPUTS
    assert len(judged.came_of) > 1, "all inputs came to the same"


def test_a_command_ends_as_it_should(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the outside: 2 for a wrong input, each error in the one grammar, and nothing written."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PINRAIL_DEBUG", raising=False)
    ships, traces = target_named("ships"), target_named("traces")
    good = SHIP.read_bytes()
    codes = set()
    for number in range(40):
        ship, trace = tmp_path / "ship.yaml", tmp_path / "evening.trace"
        ship.write_bytes(ships.make(drawn(SEED, "ships", number)))
        trace.write_bytes(traces.make(drawn(SEED, "traces", number)))
        codes.add(told_by(capsys, "check", "ship.yaml"))
        ship.write_bytes(good)
        codes.add(told_by(capsys, "replay", "ship.yaml", "evening.trace"))
        assert sorted(path.name for path in tmp_path.iterdir()) == ["evening.trace", "ship.yaml"]
    assert {0, 2} <= codes <= {0, 1, 2}


def told_by(capsys: pytest.CaptureFixture[str], *command: str) -> int:
    code = main(command)
    told = capsys.readouterr()
    assert (told.out + told.err).replace("\n", "").isprintable()
    assert "Traceback" not in told.err
    if code == 2:
        for line in told.err.splitlines():
            assert re.match(r"[a-z.]+(:\d+:\d+)?: (error|warning)\[[a-z0-9-]+\]: |  hint: ", line)
    return code


def test_the_same_number_is_the_same_input() -> None:
    for name in TARGETS:
        target = target_named(name)
        assert target.make(drawn(1, name, 5)) == target.make(drawn(1, name, 5))
        assert target.make(drawn(1, name, 5)) != target.make(drawn(2, name, 5))


def _takes_long() -> None:
    until = time.process_time() + 5
    while time.process_time() < until:
        random.random()


@pytest.mark.parametrize(
    ("what", "told"),
    [
        (_takes_long, "longer than"),
        (lambda: Path("new.txt").write_text(""), "to write"),
        (lambda: Path("/etc/passwd").read_bytes(), "opens '/etc/passwd'"),
        (lambda: os.system("true"), "os.system"),  # noqa: S605 - on purpose
        (lambda: eval("1 + 1"), "compile"),  # noqa: S307 - on purpose
        (lambda: Path("a").mkdir(), "os.mkdir"),
    ],
)
def test_what_none_may_do_is_seen(what, told: str, tmp_path: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    with pytest.raises(Fault, match=told), guarded(deadline_s=0.2):
        what()


def test_memory_is_bounded() -> None:
    with pytest.raises(MemoryError), bounded_memory():
        bytearray(1 << 31)


def test_a_failing_input_is_shrunk() -> None:
    content = b"".join(b"line %d\n" % number for number in range(200))
    assert smallest(content, lambda tried: b"7" in tried) == b"7"


def test_what_escapes_is_told() -> None:
    class Breaks:
        name = "breaks"

        def read(self, content: bytes) -> str:
            return str(1 // len(content))

    assert fault_of(Breaks(), b"") == (  # type: ignore[arg-type]  # reading is enough
        "ZeroDivisionError in test_short.py:read: integer division or modulo by zero"
    )
