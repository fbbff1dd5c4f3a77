from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import host_tools.agree
from gen.load import load
from gen.plan import force_of
from host_tools.agree import Agreement, Difference
from host_tools.cli import COMMANDS
from host_tools.cli.ships import starters
from host_tools.formats.read_table import read_table, read_trace
from host_tools.record import RungFault, RungUnavailable

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

STARTERS = sorted(starters())
BROKEN = sorted((Path(__file__).parents[2] / "gen" / "bad").glob("*.yaml"))


def listing() -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in sorted(Path().rglob("*")) if path.is_file()}


def make(run: Run, starter: str = "launch") -> str:
    assert run("new", starter).code == 0
    return f"{starter}.yaml"


# --- the frame ---


def test_the_help_names_every_command(run: Run) -> None:
    told = run("--help")
    assert told.code == 0
    assert all(f"  {name} " in told.out for name in COMMANDS)
    assert run().out == told.out


@pytest.mark.parametrize("command", COMMANDS)
def test_each_help_has_an_example_that_can_be_read(run: Run, command: str) -> None:
    told = run(command, "--help")
    assert told.code == 0
    example = shlex.split(told.out.rpartition("example:\n")[2])
    assert example[:2] == ["pinrail", command]
    answer = run(*example[1:])
    assert "error[usage]" not in answer.err


def test_the_version_is_told(run: Run) -> None:
    assert run("--version").out.startswith("pinrail 0.")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["chek"], "did you mean 'check'?"),
        (["--chek"], "there is no command '--chek'"),
        (["check"], "SHIP"),
        (["check", "a.yaml", "--on", "model"], "--on"),
        (["trial", "a.yaml", "--on", "paper"], "paper"),
        (["agree", "a.yaml", "--ticks", "0"], "less than 1"),
        (["agree", "a.yaml", "--seed", "x"], "no whole number"),
    ],
)
def test_a_command_line_that_cannot_be_understood(
    run: Run, arguments: list[str], said: str
) -> None:
    told = run(*arguments)
    assert (told.code, told.out) == (2, "")
    assert "error[usage]" in told.err
    assert said in told.err
    assert run(*arguments, "--json").json["problems"][0]["code"] == "usage"


def test_a_fault_of_ours_is_one_line_and_no_traceback(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(_: Path) -> None:
        raise ZeroDivisionError("by\nzero")

    file = make(run)
    monkeypatch.delenv("PINRAIL_DEBUG", raising=False)
    monkeypatch.setattr("host_tools.opened.load", fails)
    told = run("check", file)
    assert told.code == 70
    assert "error[internal]" in told.err
    assert "ZeroDivisionError: by zero" in told.err
    assert "Traceback" not in told.err
    assert run("check", file, "--json").json["exit"] == 70
    monkeypatch.setenv("PINRAIL_DEBUG", "1")
    assert "Traceback" in run("check", file).err


def test_a_rung_that_hangs_has_fallen_short(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def hangs(*_: object) -> None:
        raise RungFault("the chip hung", 200)

    file = make(run)
    monkeypatch.setattr("host_tools.model.Model.run", hangs)
    told = run("trial", file)
    assert told.code == 1
    assert "error[rung-fault]: the chip hung (at 1.000 s)" in told.err


def test_a_rung_that_cannot_be_had(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def lacks(*_: object) -> None:
        raise RungUnavailable("no compiler: on Debian, apt-get install g++")

    file = make(run)
    monkeypatch.setattr("host_tools.model.Model.run", lacks)
    told = run("trial", file)
    assert told.code == 2
    assert "error[rung-unavailable]: no compiler" in told.err


def test_ctrl_c_ends_quietly(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_: Path) -> None:
        raise KeyboardInterrupt

    file = make(run)
    monkeypatch.setattr("host_tools.opened.load", interrupted)
    told = run("check", file)
    assert (told.code, told.err) == (130, "pinrail: stopped\n")


# --- new, check, sketch ---


def test_new_lists_its_starters(run: Run) -> None:
    assert [line.split()[0] for line in run("new", "--list").out.splitlines()] == STARTERS
    assert sorted(run("new", "--list", "--json").json["starters"]) == STARTERS


def test_new_writes_and_never_overwrites(run: Run) -> None:
    assert run("new", "--out", "mine").code == 0
    Path("mine/launch.yaml").write_text("my own")
    told = run("new", "--out", "mine")
    assert told.code == 2
    assert "error[exists]" in told.err
    assert listing() == {"mine/launch.yaml": b"my own"}


def test_new_names_the_nearest_starter(run: Run) -> None:
    told = run("new", "lunch")
    assert told.code == 2
    assert "did you mean 'launch'?" in told.err
    assert listing() == {}


def test_check_tells_every_mistake_at_once(run: Run) -> None:
    file = Path(make(run))
    text = file.read_text()
    text = text.replace("pin: A0", "pin: A00").replace(
        "press deck key up for", "press dek key up for"
    )
    file.write_text(text)
    told = run("check", str(file))
    assert told.code == 2
    assert "launch.yaml:41:24: error[unknown-pin]" in told.err
    file.write_text(text.replace("pin: A00", "pin: A0"))
    told = run("check", str(file))
    assert told.err.count("error[unknown-name]") == 2
    assert "did you mean 'deck key'?" in told.err
    codes = [problem["code"] for problem in run("check", str(file), "--json").json["problems"]]
    assert codes == ["unknown-name", "unknown-name"]


def test_check_tells_a_step_out_of_place(run: Run) -> None:
    file = Path(make(run))
    file.write_text(
        file.read_text().replace("    - power up\n", "    - wait 1 s\n    - power up\n")
    )
    told = run("check", str(file))
    assert told.code == 2
    assert "error[step-order]" in told.err


def test_check_prints_the_schema(run: Run) -> None:
    told = run("check", "--schema")
    assert (told.code, told.err) == (0, "")
    assert told.json["title"] == "Pinrail ship file"


def test_check_of_a_file_that_is_not_there(run: Run) -> None:
    told = run("check", "missing.yaml")
    assert told.code == 2
    assert "missing.yaml: error[cannot-read]" in told.err


@pytest.mark.parametrize("broken", BROKEN, ids=lambda path: path.stem)
def test_a_broken_ship_file_changes_nothing(run: Run, broken: Path) -> None:
    told = run("sketch", str(broken), "--out", "out")
    warned_only = "error[" not in told.err
    assert told.code == (0 if warned_only else 2)
    assert told.err.startswith(f"{broken}")
    assert "Traceback" not in told.err
    assert (listing() == {}) != warned_only


@pytest.mark.parametrize(
    ("content", "code"),
    [(b"", "not-a-map"), (b"\xff\xfe", "not-utf8"), (b"\x00" * 99, "unseen-character")],
)
def test_a_file_that_is_no_ship(run: Run, content: bytes, code: str) -> None:
    Path("a.yaml").write_bytes(content)
    for command in (["check"], ["sketch"], ["compile"], ["trial"], ["agree"]):
        told = run(*command, "a.yaml")
        assert (told.code, f"error[{code}]" in told.err) == (2, True), told.err
    assert list(listing()) == ["a.yaml"]


def test_a_recorder_has_a_board_and_no_ship(run: Run) -> None:
    told = run("sketch", "--recorder", "--board", "nano", "--out", "out")
    assert told.code == 0
    assert "drives nothing and listens on D2, D3, D4" in told.out
    assert Path("out/recorder/recorder.ino").exists()
    assert not Path("out/recorder/src/behaviours").exists()
    for wrong in (
        ["--recorder"],
        ["a.yaml", "--recorder", "--board", "nano"],
        ["a.yaml", "--board", "nano"],
        [],
    ):
        told = run("sketch", *wrong)
        assert (told.code, told.out) == (2, "")
        assert "error[usage]" in told.err


def test_sketch_replaces_its_own_and_nothing_else(run: Run) -> None:
    file = make(run)
    assert run("sketch", file, "--out", "out").code == 0
    before = listing()
    assert "out/grey_wagtail/grey_wagtail.ino" in before
    assert run("sketch", file, "--out", "out").code == 0
    assert listing() == before
    Path("out/grey_wagtail/src/mine.h").write_text("my own")
    changed = listing()
    told = run("sketch", file, "--out", "out")
    assert told.code == 2
    assert "error[not-ours]" in told.err
    assert listing() == changed


@pytest.mark.parametrize("command", ["sketch", "demo"])
def test_a_named_folder_with_something_of_its_owner_is_left_alone(run: Run, command: str) -> None:
    arguments = [make(run)] if command == "sketch" else []
    Path("out").mkdir()
    Path("out/notes.txt").write_text("my own")
    before = listing()
    told = run(command, *arguments, "--out", "out")
    assert told.code == 2
    assert "out/notes.txt: error[not-ours]" in told.err
    assert listing() == before


def test_the_current_folder_may_hold_anything(run: Run) -> None:
    file = make(run)
    assert run("sketch", file).code == 0
    assert run("sketch", file, "--out", ".").code == 0
    assert Path("grey_wagtail/grey_wagtail.ino").is_file()


# --- trial, replay, agree ---


@pytest.mark.parametrize("starter", STARTERS)
@pytest.mark.parametrize(
    "rung", ["model", "logic", pytest.param("firmware", marks=pytest.mark.firmware)]
)
def test_every_trial_of_every_starter_passes_on_every_rung(
    run: Run, starter: str, rung: str
) -> None:
    told = run("trial", make(run, starter), "--on", rung, "--json")
    trials = told.json["trials"]
    assert [trial["trial"] for trial in trials if not trial["passed"]] == []
    assert len(trials) >= 4
    assert told.code == 0


def test_a_failed_trial_is_told_with_its_line(run: Run) -> None:
    file = Path(make(run))
    lines = file.read_text().splitlines(keepends=True)
    number = next(i for i, line in enumerate(lines, 1) if "expect navigation lights on" in line)
    lines[number - 1] = lines[number - 1].replace("lights on", "lights off")
    file.write_text("".join(lines))
    told = run("trial", str(file))
    assert told.code == 1
    assert "short the lights latch\n" in told.out
    assert f"launch.yaml:{number}: trial 'the lights latch' fell short at 0.955 s" not in told.out
    assert f"launch.yaml:{number}: trial 'the lights latch' fell short at " in told.out
    assert "  seen:     navigation lights on\n" in told.out
    assert "7 of 8 trials passed on the model" in told.out
    failure = run("trial", str(file), "--json").json["trials"][0]["failures"][0]
    assert (failure["line"], failure["seen"]) == (number, "navigation lights on")


def test_a_trial_that_expects_nothing_has_not_passed(run: Run) -> None:
    file = Path(make(run))
    head = file.read_text().partition("trials:\n")[0]
    file.write_text(head + "trials:\n  idle:\n    - wait 1 s\n")
    told = run("trial", str(file))
    assert told.code == 1
    assert "expects nothing" in told.out
    file.write_text(head)
    told = run("trial", str(file))
    assert told.code == 1
    assert "has no trials" in told.out


def test_only_some_trials(run: Run) -> None:
    file = make(run)
    told = run("trial", file, "--only", "the lights latch")
    assert "1 of 1 trials passed" in told.out
    told = run("trial", file, "--only", "the light latch")
    assert told.code == 2
    assert "did you mean 'the lights latch'?" in told.err


def test_a_trial_can_be_kept_replayed_and_drawn(run: Run) -> None:
    file = make(run)
    trial = ("--only", "the capstan waits before it turns round")
    assert run("trial", file, *trial, "--save", "t", "--plot", "p").code == 0
    trace = "t/the-capstan-waits-before-it-turns-round.trace"
    told = run("replay", file, trace, "--plot", "again.png", "--save", "driven.trace")
    assert told.code == 0
    assert "capstan: 2 times" in told.out
    drawn = Path("p/the-capstan-waits-before-it-turns-round.png").read_bytes()
    assert drawn.startswith(b"\x89PNG")
    assert Path("again.svg").is_file()
    assert Path("again.png").is_file()
    pulses, driven = read_table(Path("driven.trace"))
    assert driven.line_names[0] == "bell relay"
    assert set(read_trace(Path(trace)).at.tolist()) <= set(pulses.at.tolist())
    assert driven.lines[0].tolist() == [0, 0, 0, 0, 0]
    before = listing()
    for again in (
        ("trial", file, *trial, "--save", "t"),
        ("trial", file, *trial, "--plot", "p"),
        ("replay", file, trace, "--plot", "again.svg"),
        ("replay", file, trace, "--save", "driven.trace"),
    ):
        told = run(*again)
        assert (told.code, "error[exists]" in told.err) == (2, True), again
    assert listing() == before


def test_replay_says_the_same_on_every_rung(run: Run) -> None:
    file = make(run)
    run("trial", file, "--only", "the lights latch", "--save", "t")
    told = {
        rung: run("replay", file, "t/the-lights-latch.trace", "--on", rung, "--json").json
        for rung in ("model", "logic")
    }
    assert told["model"]["functions"] == told["logic"]["functions"]
    assert {"function": "navigation lights", "times": 1} == {
        key: one[key]
        for one in told["model"]["functions"]
        for key in ("function", "times")
        if one["times"]
    }


FORCED = """\
# pinrail trace 1
# tick: 5 ms
# ticks: 300
tick	{channels}	~	force
100	{blanks}		{force}
# end
"""


@pytest.mark.parametrize("rung", ["model", "logic"])
def test_replay_forces_what_was_forced(run: Run, rung: str) -> None:
    file = make(run, "tender")
    plan = load(Path(file)).plan
    anchor_light = [function.name for function in plan.functions].index("anchor light")
    names = [one.name for one in plan.inputs]
    text = FORCED.format(
        channels="\t".join(names),
        blanks="\t" * (len(names) - 1),
        force=force_of(anchor_light, 1),
    )
    Path("forced.trace").write_text(text, encoding="utf-8")
    told = run("replay", file, "forced.trace", "--on", rung)
    assert told.code == 0, told.err
    assert "anchor light: once, 1.000 s in all" in told.out
    Path(file).write_text(Path(file).read_text().replace("bench: yes", "bench: no"))
    told = run("replay", file, "forced.trace", "--on", rung)
    assert "note: this ship has no bench, so nothing is forced" in told.out
    assert "anchor light: once" not in told.out


def test_replay_needs_the_ships_own_channels(run: Run) -> None:
    launch, tender = make(run), make(run, "tender")
    run("trial", launch, "--only", "the lights latch", "--save", "t")
    told = run("replay", tender, "t/the-lights-latch.trace")
    assert told.code == 2
    assert "error[other-channels]" in told.err


def test_replay_takes_channels_in_any_order(run: Run) -> None:
    file = make(run)
    run("trial", file, "--only", "the lights latch", "--save", "t")
    path = Path("t/the-lights-latch.trace")
    rows = path.read_text().splitlines()
    start = next(i for i, row in enumerate(rows) if row.startswith("tick"))
    for i in range(start, len(rows) - 1):
        tick, *cells = rows[i].split("\t")
        cells += [""] * (4 - len(cells))
        rows[i] = "\t".join([tick, *reversed(cells)])
    Path("turned.trace").write_text("\n".join(rows) + "\n")
    straight, turned = (
        run("replay", file, name, "--json").json["functions"]
        for name in (str(path), "turned.trace")
    )
    assert straight == turned


def test_a_trace_cut_in_the_middle_of_a_line(run: Run) -> None:
    file = make(run)
    run("trial", file, "--only", "the lights latch", "--save", "t")
    path = Path("t/the-lights-latch.trace")
    path.write_bytes(path.read_bytes()[:-12])
    told = run("replay", file, str(path), "--plot", "p")
    assert told.code == 2
    assert "error[trace-cut]" in told.err
    assert "in the middle of a line" in told.err
    assert not Path("p").exists()


def test_agree_tells_how_far_it_went(run: Run) -> None:
    told = run("agree", make(run), "--ticks", "3000", "--json").json
    assert (told["agree"], told["ticks"], told["on"], told["seed"]) == (True, 3000, "logic", 1)


def test_agree_writes_the_trace_that_shows_a_disagreement(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = make(run)
    run("trial", file, "--only", "the lights latch", "--save", "t")
    trace = read_trace(Path("t/the-lights-latch.trace"))
    found = Agreement(77, 1, Difference(12, "outputs", "0", "1"), trace, 5)
    monkeypatch.setattr(host_tools.agree, "agree", lambda *_: found)
    monkeypatch.delattr("host_tools.cli.agree", raising=False)
    monkeypatch.delitem(sys.modules, "host_tools.cli.agree", raising=False)
    told = run("agree", file)
    assert told.code == 1
    assert "part in outputs at tick 12, 0.060 s" in told.out
    assert read_trace(Path("grey_wagtail-logic-seed-5.trace")) == trace
    assert run("agree", file).code == 1
    assert Path("grey_wagtail-logic-seed-5-2.trace").is_file()


# --- demo ---


def test_demo_walks_the_whole_way(run: Run) -> None:
    told = run("demo", "--out", "d")
    assert told.code == 0
    steps = [line.split()[0] for line in told.out.splitlines()]
    assert steps[:3] == ["new", "check", "sketch"]
    *files, then = told.out.splitlines()[-4:]
    assert all(Path(path).is_file() for path in files)
    assert [Path(path).suffix for path in files] == [".ino", ".svg", ".png"]
    assert then.startswith("next    pinrail bench d/launch.yaml")
    before = listing()
    assert run("demo", "--out", "d").code == 2
    assert listing() == before


def test_demo_without_compilers_says_so(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    monkeypatch.delenv("CXX", raising=False)
    told = run("demo")
    assert told.code == 0
    assert "left out on the logic" in told.out
    assert "8 of 8 passed on the model" in told.out


def test_demo_without_the_drawing_library_says_so(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in [name for name in sys.modules if name.startswith("host_tools.plot")]:
        monkeypatch.delitem(sys.modules, module)
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    told = run("demo")
    assert told.code == 0
    assert "picture left out" in told.out
    assert "pinrail[plot]" in told.out
    assert told.out.splitlines()[-2] == "grey_wagtail/grey_wagtail.ino"
    told = run("trial", "launch.yaml", "--plot", "p")
    assert told.code == 2
    assert "error[no-pictures]" in told.err
