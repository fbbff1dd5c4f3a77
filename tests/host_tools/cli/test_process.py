"""What only shows from outside: start-up time, pipes, signals."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOT = Path(__file__).parents[3]
PINRAIL = [sys.executable, "-c", "import sys; from host_tools.cli import main; sys.exit(main())"]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}


def _processor_s(command: Sequence[str]) -> float:
    """What a command takes of the processor: unlike its time, no matter what else is running."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=ENVIRONMENT)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def test_the_help_comes_at_once() -> None:
    bare = [sys.executable, "-c", "pass"]
    taken = [(_processor_s(bare), _processor_s([*PINRAIL, "--help"])) for _ in range(15)]
    assert min(help_s for _, help_s in taken) < 3 * min(bare_s for bare_s, _ in taken)


def _modules(work: str) -> set[str]:
    asked = f"import sys; {work}; print(*sys.modules)"
    result = subprocess.run(
        [sys.executable, "-c", asked], check=True, capture_output=True, text=True, env=ENVIRONMENT
    )
    return set(result.stdout.split())


def test_the_help_loads_nothing_that_costs() -> None:
    loaded = _modules("from host_tools.cli import main; main(['--help'])") - _modules("pass")
    assert "host_tools.cli" in loaded
    assert not {"argparse", "typing", "re", "json", "numpy", "yaml", "jinja2"} & loaded


def test_checking_a_ship_loads_nothing_that_costs() -> None:
    ship = ROOT / "templates" / "ships" / "salvor.yaml"
    loaded = _modules(f"from host_tools.cli import main; main(['check', {str(ship)!r}])")
    assert "host_tools.electrical.of_ship" in loaded
    assert not {"numpy", "jinja2", "serial", "matplotlib"} & loaded


def test_a_reader_that_leaves_is_no_error(tmp_path: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    result = subprocess.run(
        [*PINRAIL, "new", "--list"],
        check=False,
        stdout=writing,
        stderr=subprocess.PIPE,
        env=ENVIRONMENT,
        cwd=tmp_path,
    )
    os.close(writing)
    assert (result.returncode, result.stderr) == (141, b"")


def test_ctrl_c_in_the_middle_of_long_work(tmp_path: Path) -> None:
    subprocess.run([*PINRAIL, "new"], check=True, env=ENVIRONMENT, cwd=tmp_path)
    # A shell that runs tests in the background has them ignore Ctrl-C; a terminal does not.
    listen = partial(signal.signal, signal.SIGINT, signal.default_int_handler)
    with subprocess.Popen(
        [*PINRAIL, "agree", "launch.yaml", "--ticks", "500000000"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=ENVIRONMENT,
        cwd=tmp_path,
        preexec_fn=listen,  # noqa: PLW1509 - no thread is running here
    ) as process:
        time.sleep(3)
        process.send_signal(signal.SIGINT)
        try:
            out, err = process.communicate(timeout=30)
        finally:
            process.kill()
    assert process.returncode == 130
    assert (out, err.splitlines()[-1]) == (b"", b"pinrail: stopped")
    assert b"Traceback" not in err
    assert [path.name for path in tmp_path.iterdir()] == ["launch.yaml"]


def test_a_name_that_the_terminal_cannot_show(tmp_path: Path) -> None:
    subprocess.run([*PINRAIL, "new"], check=True, env=ENVIRONMENT, cwd=tmp_path)
    ship = tmp_path / "launch.yaml"
    text = ship.read_text(encoding="utf-8").replace("Grey Wagtail  ", "Grå Vipstjert", 1)
    ship.write_text(text.replace("ship: Grey Wagtail", "ship: Grå Vipstjert"), encoding="utf-8")
    result = subprocess.run(
        [*PINRAIL, "check", "launch.yaml"],
        check=False,
        capture_output=True,
        env={**ENVIRONMENT, "PYTHONIOENCODING": "ascii"},
        cwd=tmp_path,
    )
    assert (result.returncode, result.stderr) == (0, b"")
    assert rb"Gr\xe5 Vipstjert" in result.stdout
