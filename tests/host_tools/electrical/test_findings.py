"""Each finding: one small change that earns it, its place, and that the change back is clean."""

from __future__ import annotations

from pathlib import Path

import pytest

from gen.codes import CODES
from host_tools.electrical.told import problems_of
from tests.host_tools.electrical.wired import changed, codes, electrics

HERE = Path(__file__).parent

DAVIT = "load: {supply: 12 V, draws: 1.5 A, stalls: 6 A, kind: motor, length: 1 m}"
BELL = "load: {supply: 6 V, draws: 0.8 A, length: 1 m}"
TWELVE = "12 V: {from: battery, fuse: auto, length: 0.5 m}"
SIX = "6 V: {from: 12 V, voltage: 6 V, rating: 5 A, efficiency: 90 %, fuse: auto, length: 0.3 m}"
BATTERY = "battery: {voltage: 12 V, capacity: 7 Ah, chemistry: lead-acid}"
RELAY = "relay 1: {pin: D5, active: low, coil: {supply: 6 V, draws: 72 mA}, contacts: 10 A}"
PLUG = "    contacts: 9\n    rating: 7.5 A\n    wire: 1.5 mm2\n    length: 0.6 m\n"

Changes = list[tuple[str, str]]

UNSAFE: dict[str, tuple[str, Changes]] = {
    "no-fuse": ("12 V: {", [(TWELVE, TWELVE.replace("auto", "none"))]),
    "fuse-too-large": (
        "fuse: 5 A",
        [(DAVIT, DAVIT.replace("kind", "fuse: 5 A, wire: 0.5 mm2, kind"))],
    ),
    "fuse-unfit": ("wire: 0.25 mm2", [(BELL, BELL.replace("length", "wire: 0.25 mm2, length"))]),
    "wire-too-thin": (
        "wire: 0.25 mm2",
        [(BELL, BELL.replace("length", "wire: 0.25 mm2, fuse: none, length"))],
    ),
    "no-such-wire": (
        "fuse: 2 A",
        [
            ("board supply: 6 V", "board supply: 6 V\nwires: {have: [0.5 mm2]}"),
            (BELL, BELL.replace("length", "fuse: 2 A, length")),
        ],
    ),
    "regulator-overloaded": ("rating: 1 A", [(SIX, SIX.replace("5 A", "1 A"))]),
    "relay-overloaded": ("fore lamp", [(RELAY, RELAY.replace("10 A", "0.5 A"))]),
    "contact-overloaded": ("carries: ", [(PLUG, PLUG.replace("7.5 A", "2 A"))]),
    "few-returns": (
        "returns: 1",
        [
            (PLUG, PLUG.replace("7.5 A", "3 A") + "    returns: 1\n"),
            ("fore lamp: {supply: 12 V, draws: 0.5 A", "fore lamp: {supply: 12 V, draws: 1.5 A"),
        ],
    ),
}
"""By code, what the line that it names holds, and what makes the small ship unsafe in this way."""

UNWISE: dict[str, tuple[str, Changes]] = {
    "fuse-too-small": ("fuse: 1.6 A", [(DAVIT, DAVIT.replace("kind", "fuse: 1.6 A, kind"))]),
    "fuse-surge": (
        "fuse: 2 A",
        [(DAVIT, DAVIT.replace("kind", "fuse: 2 A, kind").replace("6 A", "12 A"))],
    ),
    "fuse-order": (
        "12 V: {",
        [
            (TWELVE, TWELVE.replace("auto", "5 A")),
            (DAVIT, DAVIT.replace("kind", "fuse: 5 A, kind")),
        ],
    ),
    "fuse-missing": ("6 V: {", [(SIX, SIX.replace("fuse: auto, ", ""))]),
    "stall-unseen": (
        "stalls: 0.9 A",
        [
            (BELL, BELL.replace("length", "stalls: 0.9 A, kind: motor, length")),
            ("pulse: key down\n    for: 0.5 s\n", "toggle: key down\n"),
        ],
    ),
    "wire-drop": (
        "length: 20 m",
        [(BELL, BELL.replace("1 m", "20 m").replace("length", "wire: 0.5 mm2, length"))],
    ),
    "relay-stalled": (
        "fore lamp",
        [
            (RELAY, RELAY.replace("10 A", "2 A")),
            ("draws: 0.3 A, kind: lamp", "draws: 0.3 A, stalls: 2.5 A, kind: motor"),
        ],
    ),
    "regulator-hot": ("kind: linear", [(SIX, SIX.replace("efficiency: 90 %", "kind: linear"))]),
    "battery-current": ("capacity: 1.2 Ah", [(BATTERY, BATTERY.replace("7 Ah", "1.2 Ah"))]),
}
"""The same for what makes it unwise."""

CASES = {**UNSAFE, **UNWISE}


@pytest.mark.parametrize("code", CASES)
def test_a_change_earns_its_finding(code: str) -> None:
    held, changes = CASES[code]
    lines = changed(*changes).splitlines()
    found, *_ = (
        finding
        for finding in electrics(*changes).findings
        if finding.code == code and held in lines[finding.place.line - 1]
    )
    assert found.is_error == (code in UNSAFE)
    assert found.got
    assert found.expected
    assert found.clause


@pytest.mark.parametrize("code", CASES)
def test_a_finding_is_told_in_one_grammar(code: str) -> None:
    _, changes = CASES[code]
    told = [str(one) for one in problems_of(electrics(*changes), "gannet.yaml") if one.code == code]
    severity = "error" if code in UNSAFE else "warning"
    for one in told:
        assert one.startswith("gannet.yaml:")
        assert f": {severity}[{code}]: " in one
        assert "\n  hint: " in one
    assert len(told) == len(set(told)) >= 1


def test_every_code_of_the_sums_is_tried() -> None:
    tried = "".join(path.read_text(encoding="utf-8") for path in HERE.glob("test_*.py"))
    for code, entry in CODES.items():
        if entry.about == "power":
            assert f'"{code}"' in tried, code
            if code in CASES:
                assert entry.meaning.startswith("A warning") == (code in UNWISE), code


def test_the_small_ship_is_clean_without_its_changes() -> None:
    assert codes() == []
