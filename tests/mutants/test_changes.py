"""The changes are small, everywhere, and fit what they change; the score itself is
`python -m tests.mutants`."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from gen.behaviours import REGISTRY
from tests.mutants.changes import Mutant, of_cpp, of_python
from tests.mutants.judge import planted_in_plan
from tests.mutants.lists import SKETCH, all_mutants
from tests.mutants.survivors import EQUAL
from tests.plans import random_plan

ROOT = Path(__file__).parents[2]

LINE = "  if (!ready && width + 20 >= low) {  // 7 < 8"


def test_a_line_of_the_sketch_has_a_change_for_each_operator_and_number() -> None:
    made = [mutant.planted(LINE) for mutant in of_cpp("a.h", LINE)]
    assert made == [
        LINE.replace("!", ""),
        LINE.replace("&&", "||"),
        LINE.replace("+", "-"),
        LINE.replace("20", "21"),
        LINE.replace(">=", ">"),
    ]


def test_a_line_of_the_model_has_a_change_for_each_operator_and_number() -> None:
    line = "x = not (a < 3 and b) - c"
    made = [mutant.planted(line) for mutant in of_python("a.py", line)]
    assert made == [
        line.replace("not", ""),
        line.replace("<", "<="),
        line.replace("3", "4"),
        line.replace("and", "or"),
        line.replace("-", "+"),
    ]


def test_templates_includes_and_types_are_left_alone() -> None:
    text = '#include "a2.h"\ntemplate <class Rules>\n  const Band* bands = from<uint8_t>(&there);\n'
    assert not list(of_cpp("a.h", text))
    assert not list(of_python("a.py", "def f(a: int | None = 3) -> None:\n"))


def test_every_behaviour_and_every_safety_line_has_mutants() -> None:
    every = all_mutants()  # momentary has no operator and no number
    files = Counter(one.file for one in every)
    assert all(
        files[f"host_tools/model/behaviours/{name}.py"] for name in set(REGISTRY) - {"momentary"}
    )
    headers = {path.name for path in (SKETCH / "behaviours").glob("*.h")} - {"momentary.h"}
    assert all(files[f"behaviours/{name}"] for name in headers)
    safety = ("channel", "control", "function", "gate", "force")
    assert all(files[f"logic/{name}.h"] for name in safety)
    assert len({one.key for one in every}) > 1_000


def test_every_mutant_fits_its_text() -> None:
    for one in all_mutants():
        if one.what != "plan":
            folder = SKETCH if one.what == "logic" else ROOT
            text = (folder / one.file).read_text(encoding="utf-8")
            assert one.planted(text) != text


def test_one_number_of_a_plan_is_changed() -> None:
    plan = random_plan(0, favour="pulse")
    mutant = Mutant("plan", "Channel", 0, 0, "lost_after_ticks", "+1", "")
    changed = planted_in_plan(mutant, plan)
    assert changed.channels[0].lost_after_ticks == plan.channels[0].lost_after_ticks + 1
    assert changed.channels[1:] == plan.channels[1:]
    assert changed.functions == plan.functions


def test_what_is_said_to_be_equal_is_still_there() -> None:
    for file, context, _, reason in EQUAL:
        folder = SKETCH if file.endswith(".h") else ROOT
        assert context in (folder / file).read_text(encoding="utf-8")
        assert reason
