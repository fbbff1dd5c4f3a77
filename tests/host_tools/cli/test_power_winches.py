"""What `pinrail power` tells of winches, resistors and the like."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.gen.small import changed

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

DRUM = (
    "drum: {diameter: 8 mm, width: 15 mm, flange: 20 mm, line: 0.8 mm, length: 1.2 m,"
    " motor: 6000 rpm, gearbox: 200, torque: 4 mNm}"
)


def written(folder: Path, limit: str) -> str:
    """The name of a ship file in `folder` whose davit has this limit."""
    text = changed(("limit: {lower: 8 s, raise: 9 s}", f"limit: {limit}\n    {DRUM}"))
    (folder / "gannet.yaml").write_text(text, encoding="utf-8")
    return "gannet.yaml"


def test_the_table_of_winches(tmp_path: Path, run: Run) -> None:
    ship = written(tmp_path, "{lower: 70 s, raise: 76.4 s}")
    done = run("power", ship, "--table", "winches")
    assert done.code == 0
    assert "davit" in done.out
    for told in ("38.2", "76.5 s", "76.4 s", "lower 70 s, raise 76.4 s", "27.6 mm to 37.7 mm"):
        assert told in done.out


def test_a_limit_past_the_end_falls_short_and_says_where(tmp_path: Path, run: Run) -> None:
    done = run("power", written(tmp_path, "{lower: 90 s, raise: 76.4 s}"))
    assert done.code == 1
    assert "gannet.yaml:16:20: error[limit-past-end]" in done.out + done.err
    assert "(got 90 s, expected at most 76.4 s)" in done.out + done.err


def test_how_the_limit_was_come_by(tmp_path: Path, run: Run) -> None:
    done = run("power", written(tmp_path, "{lower: 70 s, raise: 70 s}"), "--explain", "davit")
    assert done.code == 0
    assert "davit: proposed limit each way = 76.4 s" in done.out
    assert "diameter of the drum = 8 mm   [gannet.yaml:17]" in done.out


def test_a_ship_without_drums_has_no_table_of_them(tmp_path: Path, run: Run) -> None:
    (tmp_path / "gannet.yaml").write_text(changed(), encoding="utf-8")
    assert "Winches" not in run("power", "gannet.yaml").out
