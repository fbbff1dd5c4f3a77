"""Random edits of the starters: harmless ones are proved to change nothing, harmful ones are told
apart. All of them: `python -m tests.benchmarks`."""

from __future__ import annotations

import pytest

from host_tools.compare.verdict import SAME
from tests.host_tools.compare.edited import compared, harmful_edit, harmless_edit


@pytest.mark.parametrize("seed", range(60))
def test_a_harmless_edit_is_proved_equal(seed: int) -> None:
    edit = harmless_edit(seed)
    assert [one.verdict for one in compared(edit) if one.verdict != SAME] == [], edit.what


@pytest.mark.parametrize("seed", [1, 3, 10, 11])
def test_a_harmful_edit_is_told_apart(seed: int) -> None:
    edit = harmful_edit(seed)
    assert any(one.verdict == "different" for one in compared(edit)), edit.what
