from __future__ import annotations

import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from matplotlib.figure import Figure

from gen.plan import AnalogueSensor, DigitalSensor
from gen.read.steps import Trial
from gen.read.trial_steps import parse_step
from host_tools.model import Model
from host_tools.plot import Picture, draw
from host_tools.plot.lanes import outline, runs
from host_tools.plot.sensor_lane import SensorLane
from host_tools.plot.style import seconds
from host_tools.states import Mark
from host_tools.trace import Trace
from host_tools.trial import script
from tests.host_tools.wherry import SMALL, us

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gen.plan import Sensor
    from host_tools.record import Record

STEPS = ("press deck key up", "hold bow key down", "move wheel to 90 %", "wait 1 s", "lose signal")


def record() -> Record:
    steps = tuple(parse_step(text, 1, SMALL) for text in (*STEPS, "wait 1 s"))
    return Model(SMALL).run(script(SMALL, Trial("a trial", steps, 1)).trace)


def picture(*marks: Mark) -> Picture:
    return draw(SMALL, record(), marks)


def test_the_same_run_is_the_same_bytes() -> None:
    marks = (Mark(100, "press deck key up"), Mark(300, "expect horn on", failed=True))
    assert picture(*marks) == picture(*marks)
    assert picture(*marks) != picture()


HASHED = """
import hashlib
from tests.host_tools.test_plot import picture
print(hashlib.sha256(picture().svg + picture().png).hexdigest())
"""


def test_the_order_of_hashes_changes_nothing() -> None:
    root = Path(__file__).parents[2]
    digests = {
        subprocess.run(
            [sys.executable, "-c", HASHED],
            check=True,
            capture_output=True,
            cwd=root,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


def test_both_formats_are_what_they_say_and_hold_no_date() -> None:
    drawn = picture()
    assert drawn.png.startswith(b"\x89PNG")
    assert ET.fromstring(drawn.svg).tag == "{http://www.w3.org/2000/svg}svg"  # noqa: S314 - our own
    assert b"date>" not in drawn.svg


@pytest.mark.parametrize("rows", [0, 1, 20_000])
def test_any_length_can_be_drawn(rows: int) -> None:
    trace = Trace(
        ticks=4 * rows,
        channels=tuple(channel.name for channel in SMALL.channels),
        at=np.arange(rows) * 4,
        widths_half_us=np.tile(us(1500) + np.arange(rows, dtype=np.uint16)[:, None] % 400, 4),
    )
    assert draw(SMALL, Model(SMALL).run(trace)).png


def test_a_name_in_another_script_does_no_harm() -> None:
    plan = replace(SMALL, ship="船")
    assert draw(plan, record()).png


def test_equal_values_make_one_stretch() -> None:
    assert runs(np.array([0, 0, 1, 1, 1, 0])) == [(0, 2), (2, 5), (5, 6)]
    assert runs(np.array([])) == []


def test_an_outline_keeps_every_extreme() -> None:
    widths = np.full(30_000, 3000, np.uint16)
    widths[12_345], widths[23_456] = 1000, 4000
    _, low, high = outline(np.arange(30_000), widths)
    assert (low.min(), high.max()) == (1000, 4000)


def lane(sensor: Sensor, *readings: int) -> Axes:
    axis = Figure().add_subplot()
    made = SensorLane(sensor, np.array(readings, np.uint16))
    assert made.moves
    made.draw(axis)
    return axis


def test_a_sensors_lane_is_in_volts_before_the_divider() -> None:
    """1023 counts of 1024 parts of 5 V, behind a divider by 5.7: 28.5 V less one part."""
    axis = lane(AnalogueSensor("bilge", "bilge", "A0", 0, 28_500_000), 0, 512, 1023)
    assert [label.get_text() for label in axis.get_yticklabels()] == ["0.0 V", "28.5 V"]
    assert axis.lines[0].get_ydata() == pytest.approx([0, 14.25, 28.472], abs=1e-3)


@pytest.mark.parametrize(("active_low", "closed"), [(True, [(2, 3)]), (False, [(0, 2), (3, 4)])])
def test_a_contacts_lane_shows_when_it_was_closed(
    active_low: bool, closed: list[tuple[int, int]]
) -> None:
    axis = lane(DigitalSensor("hatch", "hatch", "A4", active_low, 0), 1, 1, 0, 1)
    bars = axis.collections[0].get_paths()
    across = [np.asarray(path.vertices)[:, 0] for path in bars]
    spans = [(ends.min(), ends.max()) for ends in across]
    assert spans == [(seconds(start), seconds(end)) for start, end in closed]
