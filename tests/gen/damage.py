"""Lines for a board, damaged in every way that a wire can; and the Hearer that hears them."""

from __future__ import annotations

import random
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

from gen.load import load
from gen.render import render
from gen.resources import resource
from host_tools.logic.rung import FLAGS, find_compiler
from tests.firmware.link_lines import line

if TYPE_CHECKING:
    from collections.abc import Callable

MAIN = Path(__file__).with_name("hearer") / "main.cpp"
WORDS = ("who", "here", "bench on", "p a1500 b1502.5", "arm 3", "force 3 1", "free", "restart")
BURST_BITS = 16


def compiled_hearer(folder: Path, main: Path = MAIN, *flags: str) -> Path:
    """The Hearer of a ship with a bench, compiled for this computer under `main`."""
    ship = load(resource("templates") / "ships" / "tender.yaml")
    for name, text in render(ship.plan, ship.board).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    program = folder / "hearer"
    command = [find_compiler(), *FLAGS, *flags, f"-I{folder}", str(main), "-o", str(program)]
    subprocess.run(command, check=True, capture_output=True)
    return program


def hear(program: Path, data: bytes) -> list[str]:
    """What it makes of these bytes."""
    result = subprocess.run([program], input=data, capture_output=True, check=True)
    return result.stdout.decode().splitlines()


def flipped(data: bytes, draw: random.Random) -> bytes:
    """1 to 3 bits."""
    damaged = bytearray(data)
    for bit in draw.sample(range(8 * len(data)), draw.randint(1, 3)):
        damaged[bit // 8] ^= 1 << bit % 8
    return bytes(damaged)


def burst(data: bytes, draw: random.Random) -> bytes:
    """Up to 16 bits in a row, the outer ones wrong and those between as it comes."""
    length = draw.randint(2, BURST_BITS)
    begin = draw.randrange(8 * len(data) - length)
    pattern = 1 | 1 << (length - 1) | draw.getrandbits(length)
    whole = int.from_bytes(data, "big") ^ pattern << begin
    return whole.to_bytes(len(data), "big")


def cut(data: bytes, draw: random.Random) -> bytes:
    """A piece is missing."""
    begin = draw.randrange(len(data))
    return data[:begin] + data[draw.randint(begin + 1, len(data)) :]


def garbage(data: bytes, draw: random.Random) -> bytes:
    """Something else altogether."""
    return bytes(draw.randrange(256) for _ in data)


def wrong_number(data: bytes, draw: random.Random) -> bytes:
    """A good line with another number."""
    words = data[3:-6].decode()
    return line(int(data[:2], 16) + draw.randint(1, 255), words)


KINDS: dict[str, Callable[[bytes, random.Random], bytes]] = {
    "1 to 3 bits": flipped,
    "bursts": burst,
    "cuts": cut,
    "garbage": garbage,
    "wrong numbers": wrong_number,
}
"""A cut that takes a line's end joins it with the next one."""

GROUP = 4


def damaged_stream(kind: str, count: int, seed: int) -> bytes:
    """A good line, for the first one may have any number; then so many damaged lines, each with
    three good ones behind it. The numbers of all follow on."""
    draw = random.Random(seed)
    parts = [line(-1, "here")]
    for n in range(count):
        good = line(GROUP * n, draw.choice(WORDS))
        damaged = KINDS[kind](good, draw)
        while damaged.rstrip(b"\r\n") == good.rstrip(b"\r\n"):
            damaged = KINDS[kind](good, draw)
        parts.append(damaged)
        parts += [line(GROUP * n + k, "here") for k in (1, 2, 3)]
    return b"".join(parts)


def judged(heard: list[str], count: int) -> tuple[int, int]:
    """How many damaged lines were obeyed, and behind how many of them the third good line was not
    heard: the first one may have been joined with it, the second one shows the gap."""
    obeyed = sum(one.startswith("line") and int(one[5:7], 16) % GROUP == 0 for one in heard)
    last = sum(one.startswith("line") and int(one[5:7], 16) % GROUP == GROUP - 1 for one in heard)
    return obeyed, count + 1 - last
