"""Tables: what a spreadsheet reads is what was meant, and nothing runs in it."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.papers.table import Change, Column, Look, Row, Table

RUNS = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"

COLUMNS = (Column("Name", 1), Column("", 1, Look.MARK), Column("Said", 2))
CELL = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=30)


def read(text: str) -> list[list[str]]:
    assert text.startswith("\ufeff")
    return list(csv.reader(io.StringIO(text[1:], newline="")))


@given(st.lists(st.tuples(CELL, CELL), max_size=8))
def test_a_spreadsheet_reads_every_cell_back_and_runs_none(cells: list[tuple[str, str]]) -> None:
    rows = tuple(Row(str(n), (a, "", b)) for n, (a, b) in enumerate(cells))
    table = Table("t", "", COLUMNS, rows)
    head, *body = read(table.csv())
    assert head == ["Name", "Said"]
    for (name, said), row in zip(cells, body, strict=True):
        for meant, cell in ((name, row[0]), (said, row[1])):
            assert not cell.startswith(tuple(RUNS))
            assert cell == meant or (cell == f"'{meant}" and meant[0] in RUNS)


@pytest.mark.parametrize("sign", RUNS)
def test_no_sign_makes_a_formula(sign: str) -> None:
    table = Table("t", "", COLUMNS, (Row("a", (f"{sign}1+1", "", "")),))
    assert read(table.csv())[1][0] == f"'{sign}1+1"


def test_a_marked_table_says_so_in_its_first_column() -> None:
    rows = (Row("a", ("a", "", "1"), change=Change.NEW), Row("b", ("b", "", "2")))
    assert read(Table("t", "", COLUMNS, rows).csv()) == [
        ["since", "Name", "Said"],
        ["new", "a", "1"],
        ["", "b", "2"],
    ]


def test_rows_of_one_heading_stand_together() -> None:
    rows = tuple(Row(str(n), (name, "", "")) for n, name in enumerate("aabba"))
    grouped = Table("t", "", COLUMNS, rows, grouped=True)
    assert [len(group) for group in grouped.groups()] == [2, 2, 1]
    assert len(Table("t", "", COLUMNS, rows).groups()) == 5


def test_two_rows_about_one_thing_are_told_apart() -> None:
    rows = (Row("12 V", ("supply", "", "")), Row("12 V", ("load", "", "")))
    assert [row.key for row in Table("t", "", COLUMNS, rows).rows] == ["12 V", "12 V (2)"]


def test_a_row_has_as_many_cells_as_there_are_columns() -> None:
    with pytest.raises(ValueError, match="has 1 cells"):
        Table("t", "", COLUMNS, (Row("a", ("a",)),))


def test_a_column_with_nothing_in_it_is_not_printed() -> None:
    columns = (Column("Name", 1), Column("Length", 1), Column("Done", 1, Look.BOX))
    assert Table("t", "", columns, (Row("a", ("a", "", "")),)).shown() == [0, 2]
