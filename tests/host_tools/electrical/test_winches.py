from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.codes import CODES
from host_tools.electrical.explain import explained, figures_in
from host_tools.electrical.found import Found
from host_tools.electrical.winches import winches
from tests.gen.small import small

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Finding

DRUM = (
    "{diameter: 8 mm, width: 15 mm, flange: 20 mm, line: 0.8 mm, length: 1.2 m, motor: 6000 rpm,"
    " gearbox: 200, torque: 4 mNm}"
)
RIGHT = "{lower: 76.4 s, raise: 76.4 s}"


def davit(
    limit: str = RIGHT, drum: tuple[str, str] = ("", ""), more: str = "", sensors: str = ""
) -> Found:
    described = DRUM.replace(*drum) if drum[0] else DRUM
    changes = [
        ("    limit: {lower: 8 s, raise: 9 s}", f"    limit: {limit}\n    drum: {described}{more}"),
    ]
    if sensors:
        changes.append(("outputs:", f"sensors:\n  {sensors}\noutputs:"))
    return winches(small(*changes).ship, "small.yaml")


def value(found: Found, what: str) -> float:
    (figure,) = [one for one in figures_in(found.winches) if one.what == what]
    return figure.value


def codes(found: Found) -> list[tuple[str, bool]]:
    assert all(CODES[one.code].about == "power" for one in found.findings)
    return [(one.code, one.is_error) for one in found.findings]


def only(found: Found) -> Finding:
    (finding,) = found.findings
    return finding


def test_a_davit_that_fits_its_drum() -> None:
    """15 turns of the first layer, 18 of the second, 5.23 of the third, at 30 rpm: 76.46 s."""
    found = davit()
    assert found.findings == ()
    assert value(found, "run time") == pytest.approx(76.46, abs=0.01)
    assert value(found, "proposed limit each way") == 76.4
    assert value(found, "run time, loosely wound") < 76.46
    assert value(found, "travel of a turn in layer 1") == pytest.approx(0.02765, abs=1e-5)
    pulls = [value(found, f"pull in layer {layer}") for layer in (1, 2, 3)]
    assert pulls == pytest.approx([0.48 / 0.0044, 0.48 / 0.0052, 0.48 / 0.0060])


def test_without_a_drum_nothing_is_said() -> None:
    assert winches(small().ship, "small.yaml") == Found()


def test_without_a_torque_there_is_no_pull() -> None:
    found = davit(drum=(", torque: 4 mNm", ""))
    assert [layer.pull for layer in found.winches[0].layers] == [None] * 3
    assert value(found, "run time") == pytest.approx(76.46, abs=0.01)


def test_a_limit_that_is_a_little_long_eats_kept_turns() -> None:
    """80 s are 40 turns, 1.77 more than the travel; of the line's last turns three are kept."""
    finding = only(davit("{lower: 80 s, raise: 76.4 s}"))
    assert (finding.code, finding.is_error) == ("limit-long", False)
    assert finding.what == "function 'davit': lower may run 1.77 turns further than its travel"
    assert (finding.got, finding.expected) == ("80 s", "at most 76.4 s")
    assert finding.place.line == 16


def test_a_limit_past_the_end_of_the_line_is_unsafe() -> None:
    finding = only(davit("{lower: 76.4 s, raise: 90 s}"))
    assert (finding.code, finding.is_error) == ("limit-past-end", True)
    assert "past the end of its line" in finding.what


def test_the_proposed_limit_is_never_complained_about() -> None:
    for length in ("0.3 m", "0.77 m", "1.2 m"):
        drum = ("1.2 m", length)
        limit = value(davit(drum=drum), "proposed limit each way")
        assert codes(davit(f"{{lower: {limit} s, raise: {limit} s}}", drum)) == []


@pytest.mark.parametrize(
    ("limit", "expected"), [("80 s", []), ("90 s", [("limit-past-end", False)])]
)
def test_an_end_switch_stops_it_before(limit: str, expected: list[tuple[str, bool]]) -> None:
    found = davit(
        f"{{lower: {limit}, raise: 76.4 s}}",
        more="\n    ends: {lower: low closed}",
        sensors="low: {pin: D8}",
    )
    assert codes(found) == expected


@pytest.mark.parametrize(
    ("length", "expected"),
    [("4 m", []), ("4.2 m", [("drum-full", False)]), ("5.4 m", [("drum-full", True)])],
)
def test_line_that_does_not_fit(length: str, expected: list[tuple[str, bool]]) -> None:
    """7 layers of 18 turns hold 5.38 m, less the three kept turns 5.3 m; loosely wound 4.08 m."""
    found = davit("{lower: 1 s, raise: 1 s}", ("1.2 m", length))
    assert codes(found) == expected


def test_sizes_that_no_drum_has() -> None:
    usual = "width: 15 mm, flange: 20 mm, line: 0.8 mm, length: 1.2 m"
    thread = "width: 0.001 mm, flange: 20 mm, line: 0.001 mm, length: 90 m"
    found = davit(drum=(usual, thread))
    finding = only(found)
    assert found.winches == ()
    assert (finding.code, finding.is_error) == ("drum-full", True)
    assert finding.what == "function 'davit': the line would take more than 1000 layers"
    assert finding.got == "90 m of 0.001 mm"


def test_too_few_kept_turns() -> None:
    finding = only(davit("{lower: 1 s, raise: 1 s}", ("4 mNm", "4 mNm, kept wraps: 2")))
    assert (finding.code, finding.is_error, finding.got) == ("few-wraps", False, "2")


def test_a_duty_that_ends_before_the_travel() -> None:
    finding = only(davit(more="\n    duty: 10 % of 10 min"))
    assert finding.code == "duty-short"
    assert finding.got == "10 % of 10 min: 60 s at a time"
    enough = davit(more="\n    duty: 25 % of 10 min")
    assert enough.findings == ()
    assert (value(enough, "longest run"), value(enough, "rest after it")) == (150, 450)


def test_every_figure_can_be_followed_to_the_ship_file() -> None:
    lines = explained(davit().winches, "davit")
    assert any(line.endswith("diameter of the drum = 8 mm   [small.yaml:17]") for line in lines)
    usual = "kept turns = 3   [unless given: winch manuals: at least three turns stay on the drum]"
    assert any(line.endswith(usual) for line in lines)
    own = davit(drum=("4 mNm", "4 mNm, kept wraps: 3"))
    told = explained(own.winches, "davit")
    assert any(line.endswith("kept turns = 3   [small.yaml:17]") for line in told)
