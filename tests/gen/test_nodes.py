"""YAML as plain texts with their places."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from gen.diagnostics import Place, Problems, ShipError
from gen.load import load_text
from gen.nodes import ListNode, MapNode, TextNode, parse_nodes
from gen.read.keys import Located


def parsed(text: str) -> MapNode:
    problems = Problems("x.yaml")
    root = parse_nodes(text.encode(), problems)
    assert not problems.found
    return root


def codes(content: bytes) -> list[str]:
    problems = Problems("x.yaml")
    try:
        parse_nodes(content, problems)
    except ShipError as error:
        return [problem.code for problem in error.problems]
    return [problem.code for problem in problems]


def test_nothing_is_guessed() -> None:
    root = parsed("a: on\nb: 010\nc: 12:30\nd: ~\ne: 1_000\nf: 0x10\ng: 2026-01-01\nh: '1'\n")
    assert [value.text for _, value in root.entries if isinstance(value, TextNode)] == [
        *("on", "010", "12:30", "~", "1_000", "0x10", "2026-01-01", "1")
    ]


def test_places_count_from_one() -> None:
    root = parsed("ship: x\nlist:\n  - a\n  - {b: c}\n")
    (_, text), (key, items) = root.entries
    assert (text.place, key.place) == (Place(1, 7), Place(2, 1))
    assert isinstance(items, ListNode)
    assert [item.place for item in items.items] == [Place(3, 5), Place(4, 5)]


def test_windows_line_ends_and_byte_order_mark() -> None:
    root = parse_nodes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n", Problems("x"))
    assert [key.text for key, _ in root.entries] == ["a", "b"]
    assert root.entries[1][0].place == Place(2, 1)


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", ["not-a-map"]),
        (b"just text", ["not-a-map"]),
        (b"- a\n", ["not-a-map"]),
        (b"a: 1\na: 2\na: 3\n", ["duplicate-key", "duplicate-key"]),
        (b"a: {b: 1, b: 2}\n", ["duplicate-key"]),
        (b"a: &x 1\nb: *x\nc: !t 2\n", ["anchor", "anchor", "tag"]),
        (b"a: 1\n---\nb: 2\n", ["two-documents"]),
        (b"a: 1\n...\nb: 2\n", ["two-documents"]),
        (b"\ta: 1\n\tb: 2\n", ["tab", "tab"]),
        (b"a: 1 # with\ta tab\n", []),
        (b"a: b#c\td\n", ["tab"]),
        (b"a: \x00\n", ["unseen-character"]),
        (b"a: 'x\x07'\n", ["unseen-character"]),
        (b"a: [1\n", ["not-yaml"]),
        (b"a: b: c\n", ["not-yaml"]),
        (b"a: @b\n", ["not-yaml"]),
        (b"%YAML 9.9\n--- \na: 1\n", ["not-yaml"]),
        (b"\xff\xfea", ["not-utf8"]),
        (b"a: " + b"[" * 500, ["too-deep"]),
        (b"? {a: b}\n: c\n", ["bad-key"]),
        (b"<<: {a: b}\n", []),
    ],
)
def test_what_is_refused(content: bytes, found: list[str]) -> None:
    assert codes(content) == found


def test_both_parsers_say_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """A message must not depend on whether the C parser is installed."""
    text = b"a: [1, 2\nb: c\n"
    problems = Problems("x")
    with pytest.raises(ShipError) as with_c:
        parse_nodes(text, problems)
    monkeypatch.delattr(yaml, "CSafeLoader")
    with pytest.raises(ShipError) as without_c:
        parse_nodes(text, Problems("x"))
    assert str(with_c.value) == str(without_c.value)


@settings(max_examples=300)
@given(st.binary(max_size=60) | st.text(max_size=80).map(lambda text: text.encode("utf-8")))
@example(b"ship: x\nboard: nano\nreceiver: {channels: {a: D2}}\n")
@example(b'"\\ud800": 1')
def test_no_input_ends_in_anything_but_a_ship_error(content: bytes) -> None:
    with pytest.raises(ShipError) as caught:
        load_text(content)
    assert caught.value.problems


@pytest.mark.parametrize(
    ("written", "col"),
    [("a plain one", 12), ("'a quoted one'", 13), ('"another"', 13), ('"with \\u0041"', None)],
)
def test_where_in_the_file_a_character_of_a_text_stands(written: str, col: int | None) -> None:
    """Of a text that the file writes otherwise nothing is known but where it begins."""
    ((_, value),) = parsed(f"step: {written}\n").entries
    assert isinstance(value, TextNode)
    found = Located(value.text, value.text, value.place, value.begins).place_of(5)
    assert found == Place(1, 7 if col is None else col)


def test_the_place_of_what_is_not_utf8_counts_every_kind_of_line_end() -> None:
    with pytest.raises(ShipError) as refused:
        parse_nodes(b"a: 1\rb: 2\r\nc: \xc3\xa5\xff\n", Problems("x.yaml"))
    assert str(refused.value).startswith("x.yaml:3:5: error[not-utf8]")


@pytest.mark.parametrize("content", [b"[" * 100_000, b"{a: " * 30_000, b"- " * 60_000])
def test_no_depth_exhausts_the_computer(content: bytes) -> None:
    assert codes(content)[0] in ("too-deep", "not-yaml")
