from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pytest

from host_tools.cli import main

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@dataclass(frozen=True)
class Told:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Told]:
    """Runs one command in an empty folder that stays the same for the whole test."""
    monkeypatch.chdir(tmp_path)

    def run_command(*arguments: str) -> Told:
        monkeypatch.setattr("sys.argv", ["pinrail", *arguments])
        try:
            code = main()
        except SystemExit as ended:
            code = int(ended.code or 0)
        captured = capsys.readouterr()
        return Told(code, captured.out, captured.err)

    return run_command
