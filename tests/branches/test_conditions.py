"""Conditions are noted and judged as they should be; the figures are `python -m tests.branches`."""

from __future__ import annotations

import pytest

from tests.branches.__main__ import SKETCH, headers
from tests.branches.conditions import Decision, instrumented, shown
from tests.branches.reasons import REASONS

TEXT = """
bool f(bool a, bool b, bool c) {
  if (a && (b || !c)) {  // a && b
    return (a || b) && c;
  }
  const bool d = a == b || !(a && c);
  return g(a && b, c) ? a : b;
}
"""


def test_decisions_and_their_conditions_are_found() -> None:
    text, found = instrumented("a.h", TEXT, 5)
    assert [(one.number, one.line, one.conditions) for one in found] == [
        (5, 3, ("a", "b", "!c")),
        (6, 4, ("a", "b", "c")),
        (7, 6, ("a == b", "a", "c")),
        (8, 7, ("a", "b")),
    ]
    assert "mcdc::seen(5," in text
    assert text.count("(") == text.count(")")


AND = Decision(0, "a.h", 1, "a && b", ("a", "b"))


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], [False, False]),
        ([(0, 3, 3, True)], [False, False]),
        ([(0, 3, 3, True), (0, 1, 0, False)], [True, False]),  # b was not looked at
        ([(0, 3, 3, True), (0, 1, 0, False), (0, 3, 1, False)], [True, True]),
        ([(0, 3, 3, True), (0, 3, 0, False)], [False, False]),  # both differ: neither is shown
        ([(1, 3, 3, True), (1, 1, 0, False)], [False, False]),  # of another decision
    ],
)
def test_a_condition_is_shown_by_two_rows_that_differ_in_it_alone(
    rows: list[tuple[int, int, int, bool]], expected: list[bool]
) -> None:
    assert shown(AND, rows) == expected


def test_every_header_is_read() -> None:
    decisions = [
        one
        for path in headers()
        for one in instrumented(path.name, path.read_text(encoding="utf-8"), 0)[1]
    ]
    assert len(decisions) > 50


def test_what_has_a_reason_is_still_there() -> None:
    for header, text, why in REASONS:
        assert text in (SKETCH / header).read_text(encoding="utf-8")
        assert why
