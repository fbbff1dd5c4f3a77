"""How deep the stack of a program can get, read from its machine code.

Every function's own use is what its first instructions push and reserve, plus the return address of
each call; the deepest path through all calls that start at main() is the depth without interrupts.
The deepest interrupt comes on top, once. One that lets others in counts twice beside it: it may be
interrupted, in the worst case by itself. Calls through a pointer
(only the Arduino core has some) count as calls of the deepest function that nothing calls by name.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from gen.toolchain import Toolchain

_FUNCTION = re.compile(r"^[0-9a-f]+ <(.+)>:$")
_INSTRUCTION = re.compile(r"^ +[0-9a-f]+:\t(?:[0-9a-f]{2} )+ *\t(\w+)\t?([^;]*)(?:; (.*))?$")
_TARGET = re.compile(r"<([^>+]+)(\+0x[0-9a-f]+)?>")

BIG_CHIP_FLASH_BYTES = 128 * 1024
"""Beyond this a return address takes three bytes of stack."""


class UnboundedStack(Exception):  # noqa: N818 - named after what is the matter
    """A function can reach itself, so that no bound exists."""


@dataclass
class _Function:
    own_bytes: int = 0
    calls: set[str] = field(default_factory=set)
    jumps: set[str] = field(default_factory=set)
    calls_by_pointer: bool = False
    lets_in: bool = False
    """Whether it lets interrupts in."""
    frame: bool = False
    """Whether the stack pointer has been copied into r29:r28 and will come back lower."""


def deepest_stack_bytes(elf: Path, toolchain: Toolchain, flash_bytes: int) -> int:
    """The most stack, in bytes, that the program can use. Raises UnboundedStack."""
    listing = subprocess.run(
        [toolchain.tool("objdump"), "-d", str(elf)], capture_output=True, text=True, check=True
    )
    return deepest(listing.stdout, 3 if flash_bytes > BIG_CHIP_FLASH_BYTES else 2)


def deepest(listing: str, address_bytes: int) -> int:
    """The same from the text of `objdump -d`."""
    functions = _functions(listing.splitlines(), address_bytes)
    named = set().union(*(one.calls | one.jumps for one in functions.values()))
    loose = [name for name in functions if name not in named and not name.startswith("__")]
    known: dict[str, int] = {}

    def depth(name: str, path: tuple[str, ...]) -> int:
        if name in path:
            raise UnboundedStack(" calls ".join([*path[path.index(name) :], name]))
        if name not in known:
            function = functions.get(name, _Function())
            below = [depth(called, (*path, name)) + address_bytes for called in function.calls]
            # A jump leaves nothing behind, so one back to where we came from adds nothing.
            onward = [other for other in function.jumps if other not in (*path, name)]
            below += [depth(other, (*path, name)) for other in onward]
            if function.calls_by_pointer:
                below += [
                    depth(other, (*path, name)) + address_bytes
                    for other in loose
                    if other != "main" and other not in path and other != name
                ]
            known[name] = function.own_bytes + max(below, default=0)
        return known[name]

    interrupts = {
        name: depth(name, ()) + address_bytes
        for name in functions
        if re.fullmatch(r"__vector_\d+", name)
    }
    open_ones = sum(2 * deep for name, deep in interrupts.items() if functions[name].lets_in)
    closed = [deep for name, deep in interrupts.items() if not functions[name].lets_in]
    return depth("main", ()) + address_bytes + open_ones + max(closed, default=0)


def _functions(lines: Iterable[str], address_bytes: int) -> dict[str, _Function]:
    functions: dict[str, _Function] = {}
    name, function = "", _Function()
    for line in lines:
        if found := _FUNCTION.match(line):
            name, function = found[1], _Function()
            functions[name] = function
        elif found := _INSTRUCTION.match(line):
            _take(function, name, found, address_bytes)
    return functions


def _take(function: _Function, name: str, found: re.Match[str], address_bytes: int) -> None:
    """Adds what one instruction of the function `name` does to the stack."""
    word, operands, remark = found[1], found[2].strip(), found[3] or ""
    target = _TARGET.search(remark)
    if word == "sei":
        function.lets_in = True
    elif word == "push":
        function.own_bytes += 1
    elif word == "rcall" and operands == ".+0":
        function.own_bytes += address_bytes  # the compiler's short way to reserve room
    elif word in ("rcall", "call") and target:
        function.calls.add(target[1])
    elif word in ("rjmp", "jmp") and target and target[1] != name and not target[2]:
        function.jumps.add(target[1])
    elif word in ("icall", "eicall"):
        function.calls_by_pointer = True
    elif word == "in" and operands == "r28, 0x3d":
        function.frame = True
    elif word == "out" and operands == "0x3d, r28":
        function.frame = False
    elif function.frame and word in ("sbiw", "subi") and operands.startswith("r28, "):
        function.own_bytes += _value(operands)
    elif function.frame and word == "sbci" and operands.startswith("r29, "):
        function.own_bytes += 0x100 * _value(operands)


def _value(operands: str) -> int:
    return int(operands.rpartition(", ")[2], 0)
