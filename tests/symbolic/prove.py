"""Compiles subjects, executes them, and asks the solver."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import z3

from gen.lightness import DUTIES
from gen.templating import templates_in
from tests.symbolic.ir import Module, read
from tests.symbolic.limits import header
from tests.symbolic.machine import Machine, Obligation, State
from tests.symbolic.values import both, truth

if TYPE_CHECKING:
    from tests.symbolic.subjects import Case

SUBJECTS = Path(__file__).with_name("subjects")
SKETCH = Path(__file__).parents[2] / "templates" / "sketch"
COMPILER = "clang++-16"
MEANT = {
    ("logic/units.h", "low_(static_cast<uint16_t>(value))"): "the low half of 32 bits",
    ("logic/kept.h", "static_cast<uint8_t>(value >> (8u * i))"): "one byte of four",
    ("logic/digest.h", "static_cast<uint16_t>(sum +"): "a running sum",
    ("logic/digest.h", "static_cast<uint16_t>(sum_of_sums + sum)"): "a running sum",
    ("behaviours/rhythm.h", "++memory.phase;  // from BEFORE_THE_FIRST it wraps"): "as it says",
}
LOSES = ("a narrower type loses something", "an addition overflows", "a conversion loses something")
"""Where the sketch loses something on purpose: its header, what stands in the line, what it
loses."""

_TICK = re.compile(r"_Z\d+(tick\w*?)v")
_INSTEAD = re.compile(r"_Z(\d+)(instead_of_\w+)")

CHECKS = (
    "signed-integer-overflow,unsigned-integer-overflow,shift,integer-divide-by-zero,bool,bounds,"
    "implicit-conversion,return,unreachable"
)


def compiled(case: Case, fault: tuple[str, str, str] | None = None) -> Module:
    """A subject in clang's words. A `fault` is planted: a header of the sketch, what stands there,
    and what shall stand there instead."""
    with tempfile.TemporaryDirectory(prefix="pinrail-symbolic-") as name:
        folder = Path(name)
        for part in ("logic", "behaviours"):
            shutil.copytree(SKETCH / part, folder / part)
        for file in SUBJECTS.iterdir():
            shutil.copy(file, folder)
        (folder / "limits.h").write_text(header(case.limits), encoding="utf-8")
        (folder / "logic" / "lightness.h").write_text(_lightness(), encoding="utf-8")
        if fault is not None:
            _plant(folder, *fault)
        command = [
            COMPILER, "--target=avr", "-mmcu=atmega328p", "-std=c++11", "-O0", "-ffreestanding",
            "-nostdinc++", "-S", "-emit-llvm", "-gline-tables-only", "-fno-discard-value-names",
            f"-fsanitize={CHECKS}", "-fsanitize-trap=all", "-U__AVR__", "-w", "-I.",
            *(f"-D{one}" for one in case.defines), "-osubject.ll", f"{case.subject}.cpp",
        ]  # fmt: skip
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
        if done.returncode:
            raise RuntimeError(done.stderr)
        return read((folder / "subject.ll").read_text(encoding="utf-8"))


def _plant(folder: Path, header_file: str, sound: str, faulty: str) -> None:
    text = (folder / header_file).read_text(encoding="utf-8")
    if sound not in text:
        raise ValueError(f"{header_file} has no {sound!r}")
    (folder / header_file).write_text(text.replace(sound, faulty, 1), encoding="utf-8")


def _lightness() -> str:
    """The one generated header that a behaviour needs."""
    rows = [", ".join(map(str, DUTIES)) + ","]
    template = templates_in(SKETCH, autoescape=False).get_template("lightness.h.j2")
    return template.render(ship={"duties": rows})


@dataclass(frozen=True)
class Proof:
    """Of one tick of a subject: how many things must never be, and which of them are for some
    numbers."""

    subject: str
    tick: str
    obligations: int
    broken: tuple[Obligation, ...]


def ticks_of(module: Module) -> list[str]:
    """The functions of a subject that are to be proved."""
    return [match[1] for name in module.functions if (match := _TICK.fullmatch(name))]


def prove(subject: str, tick: str, module: Module) -> Proof:
    """Executes one tick of a subject for all numbers. A promise about a function that a tick is
    named after is proved there, so that the function itself is run."""
    machine = Machine(module, _instead(module, tick))
    name = f"_Z{len(tick)}{tick}v"
    _, end = machine.call(module.functions[name], [], State((), {}))
    known = [truth(one) for one in machine.known_of_tables]
    left = [one for one in machine.obligations if one.bad is not False and not _is_meant(one)]
    broken: list[Obligation] = []
    if _asked(truth(both(end.path))).check() != z3.sat:
        broken.append(Obligation("no number is left to prove it of", (subject, 0), (), True))
    solver = _asked(*known, z3.Or(*(truth(both((*one.path, one.bad))) for one in left)))
    if (found := solver.check()) != z3.unsat:
        numbers = solver.model() if found == z3.sat else None
        for one in left:
            bad = truth(both((*one.path, one.bad)))
            if numbers is None or z3.is_true(numbers.eval(bad, model_completion=True)):
                broken.append(one)
    return Proof(subject, tick, len(machine.obligations), tuple(broken))


def _asked(*terms: Any) -> Any:
    """A solver of its own: one that has been asked before goes on by another, slower way."""
    solver = z3.Solver()
    solver.add(*terms)
    return solver


def _instead(module: Module, tick: str) -> dict[str, str]:
    """For each function of a class that the subject has a promise about, that promise."""
    made: dict[str, str] = {}
    for promise in module.functions:
        match = _INSTEAD.match(promise)
        if match is None:
            continue
        owner, name = match[2][: int(match[1])].removeprefix("instead_of_").split("_")
        if f"tick_{name}" == tick:
            continue
        start = f"_ZN{len(owner)}{owner}{len(name)}{name}E"
        made |= {one: promise for one in module.functions if one.startswith(start)}
    return made


def _is_meant(one: Obligation) -> bool:
    file, line = one.place
    found = [text for (header, text) in MEANT if file.endswith(header)]
    if not found or one.what not in LOSES:
        return False
    if not (SKETCH / file).exists():
        return False
    written = (SKETCH / file).read_text(encoding="utf-8").splitlines()[line - 1]
    return any(text in written for text in found)
