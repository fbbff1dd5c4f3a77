"""Recording, replaying, and trials that are written from what was seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import yaml

from host_tools import trial
from host_tools.bench import seen
from host_tools.bench.asked import Not
from host_tools.bench.saving import with_trial
from host_tools.bench.telling import quoted
from host_tools.formats.read_table import read_table
from host_tools.model import Model
from host_tools.opened import opened_file
from tests.host_tools.bench.benches import OnBench, starter

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> OnBench:
    ship = tmp_path / "tender.yaml"
    ship.write_bytes(starter("tender").read_bytes())
    made = OnBench(ship)
    made.run(1.0)
    return made


def work(bench: OnBench) -> None:
    """Lights on, a horn, a davit that is lowered for two seconds, the signal lost and back."""
    for control, position, held_s in (
        ("deck key", "up", 0.3),
        ("button row", "five", 0.8),
        ("davit lever", "lower", 2.0),
    ):
        bench.put(control, position)
        bench.run(held_s)
        rest = {"deck key": "centre", "button row": "none", "davit lever": "rest"}[control]
        bench.put(control, rest)
        bench.run(0.5)
    wheel = bench.index("controls", "wheel")
    bench.ask("move", control=wheel, half_us=3600)
    bench.run(1.0)
    bench.ask("signal", lost=True)
    bench.run(1.0)
    bench.ask("signal", lost=False)
    bench.run(1.0)


def test_recording_replays_to_what_was_driven(bench: OnBench) -> None:
    assert bench.ask("record", on=True)["ok"]
    work(bench)
    assert bench.ask("record", on=False)["ok"]
    bench.run(0.2)
    state = bench.told.state["recording"]
    assert not state["on"]
    assert state["from_power_up"]
    saved = bench.ask("save_trace", what="recording", name="evening")
    assert saved["path"].endswith("evening.trace")
    path = bench.bench.opened.path.parent / "evening.trace"
    trace, driven = read_table(path)
    record = Model(bench.bench.opened.plan).run(trace)
    assert trace.ticks == record.ticks > 1000
    on = np.unique(record.lines)
    assert len(on) > 3  # something has happened in it
    # What stands beside the pulses is what the model drives when they are played again.
    lines = np.full((trace.ticks, len(driven.line_names)), 0, np.int64)
    for row, at in enumerate(trace.at.tolist()):
        for column in range(len(driven.line_names)):
            told = int(driven.lines[row, column])
            if told < 2:
                lines[at:, column] = told
    replayed = (record.lines[:, None] >> np.arange(lines.shape[1], dtype=np.uint64)) & np.uint64(1)
    assert np.array_equal(lines, replayed.astype(np.int64))


def test_nothing_of_the_users_is_overwritten_without_being_asked(bench: OnBench) -> None:
    mine = bench.bench.opened.path.parent / "mine.trace"
    mine.write_text("mine")
    answer = bench.ask("save_trace", what="minute", name="mine")
    assert (answer["ok"], answer["code"]) == (False, "exists")
    assert mine.read_text() == "mine"
    assert bench.ask("save_trace", what="minute", name="mine", replace=True)["ok"]
    assert mine.read_text() != "mine"
    first = bench.ask("save_trace", what="minute")["path"]
    assert bench.ask("save_trace", what="minute")["path"] != first


@pytest.mark.parametrize(
    "name",
    [
        "../up",
        "a/b",
        "/etc/passwd",
        "..",
        ".hidden",
        "a\\b",
        "c:x",
        "a\nb",
        "x" * 81,
        "con",
        "NUL.trace",
    ],
)
def test_file_names_with_folders_in_them_are_refused(bench: OnBench, name: str) -> None:
    assert bench.ask("save_trace", what="minute", name=name)["code"] == "bad"


def test_nothing_is_saved_of_no_recording(bench: OnBench) -> None:
    assert bench.ask("save_trace", what="recording")["code"] == "not-now"


def test_minute_is_no_longer_than_a_minute(bench: OnBench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seen, "MINUTE_TICKS", 400)  # two seconds are as good
    bench.put("deck key", "up")
    bench.run(0.5)
    bench.put("deck key", "centre")
    bench.run(3.0)
    assert bench.told.state["seen_ticks"] == 400
    assert len(bench.bench.seen.minute().recording.pulse_columns()[0]) <= 400 * 5
    assert bench.ask("save_trace", what="minute", name="late")["ok"]
    trace, driven = read_table(bench.bench.opened.path.parent / "late.trace")
    assert trace.ticks == 400
    # What stood at its beginning is known, though it happened before.
    lights = driven.line_names.index("deck relay")
    assert driven.lines[0, lights] == 1


def test_trial_is_written_from_what_was_seen_and_passes(bench: OnBench) -> None:
    assert bench.ask("record", on=True)["ok"]
    work(bench)
    answer = bench.ask("trial_text", what="recording", name="an evening")
    steps = yaml.safe_load(answer["text"])["an evening"]
    assert "expect deck lights on" in steps
    assert "expect davit lowering" not in answer["left_out"]
    assert [step for step in steps if step.startswith("press deck key up for 0.")]
    assert [step for step in steps if step.startswith("press davit lever lower for ")]
    assert [step for step in steps if step == "move wheel to 1800 us"]
    assert [step for step in steps if step.startswith("lose signal on deck keys")]
    assert [step for step in steps if step.startswith("signal returns on deck keys")]
    assert bench.ask("save_trial", what="recording", name="an evening")["code"] == "sure"
    before = bench.bench.opened.path.read_bytes()
    saved = bench.ask("save_trial", what="recording", name="an evening", sure=True)
    assert saved["ok"], saved
    after = opened_file(bench.bench.opened.path)
    assert after.trials[-1].name == "an evening"
    lines = bench.bench.opened.path.read_text().splitlines()
    assert lines[saved["line"] - 1] == "  an evening:"
    assert bench.bench.opened.path.read_bytes().startswith(before.rstrip())
    plan = after.plan
    assert trial.run(plan, after.trials[-1], Model(plan)) == []
    # The page follows the file that we wrote ourselves, and has the trial in its list.
    bench.run(0.6)
    assert bench.told.ship["trials"][-1]["name"] == "an evening"
    again = bench.ask("save_trial", what="recording", name="an evening", sure=True)
    assert again["code"] == "exists"


def test_trial_goes_behind_the_others() -> None:
    ship = b"ship: x\ntrials:  # mine\n  a:\n    - wait 1 s\n\n# the end\nrules:\n  - never\n"
    after, line = with_trial(ship, ["  b:", "    - wait 2 s"])
    assert after == (
        b"ship: x\ntrials:  # mine\n  a:\n    - wait 1 s\n\n  b:\n    - wait 2 s\n"
        b"\n# the end\nrules:\n  - never\n"
    )
    assert after.splitlines()[line - 1] == b"  b:"


def test_first_trial_of_a_ship_and_other_ends_of_lines() -> None:
    after, line = with_trial(b"ship: x\r\nboard: nano", ["  b:", "    - wait 2 s"])
    assert after == b"ship: x\r\nboard: nano\r\n\r\ntrials:\r\n  b:\r\n    - wait 2 s\r\n"
    assert after.splitlines()[line - 1] == b"  b:"
    with pytest.raises(Not):
        with_trial(b"ship: x\ntrials: {a: [wait 1 s]}\n", ["  b:"])


@pytest.mark.parametrize(
    "text",
    [
        "plain words",
        "on",
        "No",
        "a: b",
        "a #b",
        "- a",
        "'q'",
        '"',
        "x ",
        "",
        "{a}",
        "ä",
        "1 s",
        "<b>",
    ],
)
def test_names_are_quoted_as_yaml_wants_it(text: str) -> None:
    assert yaml.safe_load(quoted(text)) == text
    assert yaml.safe_load(f"  {quoted(text)}: 1") == {text: 1}
