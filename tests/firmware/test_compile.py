"""Finding a compiler, compiling, and reading the stack's depth from what came out."""

from __future__ import annotations

import importlib.util
import os
import re
import subprocess
from typing import TYPE_CHECKING

import pytest

from gen import toolchain
from gen.boards import load_board
from gen.cache import made_once
from gen.compile import ARDUINO_CORE, CompileError, compile_sketch
from gen.render import render
from gen.stack import UnboundedStack, deepest
from gen.toolchain import MissingTool, find_toolchain, find_toolchains
from host_tools.firmware import chip
from tests.benchmarks.yardstick import yardstick

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.firmware


def write_sketch(folder: Path, board: str = "nano") -> Path:
    for name, text in render(yardstick(board), load_board(board)).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_both_compilers_are_here() -> None:
    """The sketch is held against both; a machine with one only would not notice."""
    assert [one.version for one in find_toolchains()] == ["5.4.0", "7.3.0"]


@pytest.mark.parametrize("core", [None, ARDUINO_CORE], ids=["bare", "core"])
def test_the_same_sketch_gives_the_same_program_wherever_it_lies(
    tmp_path: Path, core: Path | None
) -> None:
    images = []
    for name in ("here", "a rather longer name"):
        sketch = write_sketch(tmp_path / name / "yardstick")
        built = compile_sketch(
            sketch,
            load_board("nano"),
            find_toolchain(),
            tmp_path / name / "out",
            arduino_core=core,
        )
        images.append(built.hex.read_bytes())
        assert built.flash_bytes == image_bytes(built.hex)
        assert built.ram_bytes < built.flash_bytes
        assert sum(built.sections.values()) >= built.flash_bytes
    assert images[0] == images[1]


def image_bytes(path: Path) -> int:
    """How many bytes an Intel HEX file holds: the first byte of each data record (type 00)."""
    lines = path.read_text(encoding="ascii").split()
    return sum(int(line[1:3], 16) for line in lines if line[7:9] == "00")


def test_what_the_compiler_says_is_passed_on(tmp_path: Path) -> None:
    sketch = write_sketch(tmp_path)
    (sketch / "src" / "ship.cpp").write_text("int f() { long x = 1; return x; } nonsense")
    (sketch / "src" / "board" / "main.cpp").write_text("more nonsense")
    with pytest.raises(CompileError) as caught:
        compile_sketch(sketch, load_board("nano"), find_toolchain(), tmp_path / "out")
    text = str(caught.value)
    assert re.search(r"src/board/main\.cpp:1:1: error", text)
    assert re.search(r"src/ship\.cpp:1:\d+: error", text)
    assert str(tmp_path) not in text


def test_cppcheck_finds_nothing(tmp_path: Path) -> None:
    for board in ("nano", "mega", "micro"):
        sketch = write_sketch(tmp_path / board, board)
        result = subprocess.run(
            [
                "cppcheck",
                "--enable=warning,style,performance,portability",
                "--std=c++11",
                "--platform=avr8",
                "--language=c++",
                "--inline-suppr",
                "--suppress=missingIncludeSystem",
                "--error-exitcode=1",
                "--quiet",
                "-D__AVR__",
                # What avr-libc's macro makes of an interrupt, as far as a reader is concerned.
                "-DISR(vector,...)=void vector(void)",
                str(sketch / "src"),
                str(sketch / "yardstick.ino"),
            ],
            capture_output=True,
            text=True,
            check=False,
        )
        assert (result.returncode, result.stderr) == (0, "")


def test_no_compiler_names_both_ways_to_get_one(monkeypatch: pytest.MonkeyPatch) -> None:
    find_toolchains.cache_clear()
    monkeypatch.setenv("PATH", "")
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    try:
        with pytest.raises(MissingTool) as caught:
            toolchain.find_toolchain()
    finally:
        find_toolchains.cache_clear()
    assert caught.value.code == "no-compiler"
    assert "pip install 'pinrail[avr]'" in caught.value.hint
    assert "apt-get install gcc-avr" in caught.value.hint


def test_no_simulator_names_the_packages(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PINRAIL_CACHE", str(tmp_path))
    chip.runner.cache_clear()
    try:
        monkeypatch.setenv("PATH", "")
        monkeypatch.delenv("CC", raising=False)
        with pytest.raises(MissingTool, match="no C compiler") as caught:
            chip.runner()
        assert caught.value.code == "no-simulator"
        assert "libsimavr-dev libelf-dev" in caught.value.hint

        failing = tmp_path / "cc"
        failing.write_text(
            "#!/bin/sh\necho 'x.c:1:1: fatal error: simavr/sim_avr.h: No such file' >&2\nexit 1\n"
        )
        failing.chmod(0o755)
        monkeypatch.setenv("CC", str(failing))
        monkeypatch.setenv("PATH", "/usr/bin:/bin")
        with pytest.raises(MissingTool, match=r"simavr/sim_avr\.h: No such file"):
            chip.runner()
    finally:
        chip.runner.cache_clear()


def test_the_cache_makes_once_and_leaves_no_drafts(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PINRAIL_CACHE", str(tmp_path))
    made = []

    def make(folder: Path) -> None:
        made.append(folder)
        (folder / "it").write_text("x")

    assert made_once("thing", [b"ab", b"c"], make) == made_once("thing", [b"ab", b"c"], make)
    assert made_once("thing", [b"a", b"bc"], make) != made_once("thing", [b"ab", b"c"], make)
    assert len(made) == 2

    def fail(folder: Path) -> None:
        (folder / "no" / "it").write_text("x")

    with pytest.raises(FileNotFoundError):
        made_once("thing", [b"bad"], fail)
    assert len(os.listdir(tmp_path)) == 2  # noqa: PTH208 - only their number matters


LISTING = """
00000068 <main>:
      68:\t0e 94 00 00 \tcall\t0x100\t; 0x100 <one>
      6c:\t0e 94 00 00 \tcall\t0x200\t; 0x200 <two>

00000100 <one>:
     100:\tcf 93       \tpush\tr28
     102:\tdf 93       \tpush\tr29
     104:\tcd b7       \tin\tr28, 0x3d\t; 61
     106:\tde b7       \tin\tr29, 0x3e\t; 62
     108:\t2a 97       \tsbiw\tr28, 0x0a\t; 10
     10a:\tcd bf       \tout\t0x3d, r28\t; 61
     10c:\t21 97       \tsbiw\tr28, 0x01\t; 1
     10e:\t0c 94 00 00 \tjmp\t0x300\t; 0x300 <three>

00000200 <two>:
     200:\t00 d0       \trcall\t.+0      \t; 0x202 <two+0x2>
     202:\t0e 94 00 00 \tcall\t0x300\t; 0x300 <three>

00000300 <three>:
     300:\t8f 93       \tpush\tr24
     302:\tfe cf       \trjmp\t.-4      \t; 0x300 <three>

00000400 <__vector_3>:
     400:\t8f 93       \tpush\tr24
     402:\t9f 93       \tpush\tr25
"""


@pytest.mark.parametrize(
    ("address_bytes", "expected"),
    [
        # main's own return, then one: return, 2 pushed, 10 reserved, and the tail of three: 1;
        # the interrupt: return and 2 pushed.
        (2, 2 + 2 + 12 + 1 + 2 + 2),
        (3, 3 + 3 + 12 + 1 + 3 + 2),
    ],
)
def test_the_deepest_path_is_found(address_bytes: int, expected: int) -> None:
    assert deepest(LISTING, address_bytes) == expected


def test_an_interrupt_that_lets_others_in_counts_twice() -> None:
    """It may be interrupted itself, in the worst case by its like, and by one that lets none in."""
    closed, pushed, address = 2 + 2, 2, 2
    lets_in = LISTING + "     404:\t78 94       \tsei\n"
    other = lets_in + LISTING[LISTING.index("00000400") :].replace("__vector_3", "__vector_5")
    assert deepest(lets_in, 2) == deepest(LISTING, 2) + pushed + address
    assert deepest(other, 2) == deepest(lets_in, 2) + closed


def test_a_function_that_calls_itself_has_no_depth() -> None:
    again = LISTING + "     304:\t0e 94 00 00 \tcall\t0x68\t; 0x68 <main>\n"
    looped = again.replace("<__vector_3>:", "<three_b>:").replace("; 0x300 <three>", "; <three_b>")
    with pytest.raises(UnboundedStack, match="main calls "):
        deepest(looped, 2)
