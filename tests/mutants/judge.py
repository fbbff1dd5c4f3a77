"""Whether a mutant is noticed, and by what."""

from __future__ import annotations

import dataclasses
import enum
import importlib.abc
import importlib.machinery
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host_tools.agree import first_difference
from host_tools.logic import LogicRung
from tests.symbolic.prove import compiled, prove, ticks_of
from tests.symbolic.subjects import HEADERS, LONG, PARTS, SMALL, Case, in_turn

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.mutants.changes import Mutant
    from tests.mutants.jobs import Job

ROOT = Path(__file__).parents[2]
MOST_S = 20.0

MOST_JOBS = 8
"""So many plans are tried with a change of the logic, those of its behaviour first. What none of
them shows is tried with all."""

NO_MUTANT = "does not compile"
"""Of a change that the compiler refuses: not counted."""

SUBJECTS = {
    **{f"behaviours/{header}": (subject,) for subject, header in HEADERS.items()},
    **{f"logic/{part}.h": (part,) for part in PARTS},
    "logic/deflection.h": ("follow",),
    "logic/digest.h": ("outputs",),
    "logic/function.h": ("momentary", "toggle", "pulse"),
    "logic/kept.h": ("winch_more",),
    "logic/shared_channel.h": ("in_turn",),
    "logic/sum_signal.h": ("in_turn",),
    "logic/trigger.h": ("rhythm", "dimmer"),
    "logic/units.h": ("pulse",),
}


def judged_logic(mutant: Mutant, jobs: list[Job], *, thorough: bool) -> str:
    """By compiled logic against the model, then by the proofs of its subject; "" if nothing
    notices."""
    file = f"src/{mutant.file}"
    compiles = False
    tried = 0
    for job in jobs:
        sketch = dict(job.sketch)
        if file not in sketch or (tried == MOST_JOBS and not thorough):
            continue
        tried += 1
        sketch[file] = mutant.planted(sketch[file])
        try:
            rung = LogicRung(job.plan, sketch, ("-O0", "-w"))
        except subprocess.CalledProcessError:
            continue
        compiles = True
        with rung:
            for sound in job.records:
                try:
                    record = _limited(lambda: rung.run(sound.trace))  # noqa: B023 - run at once
                except (subprocess.CalledProcessError, TimeoutError, ValueError):
                    return f"{job.name}: it ends or hangs"
                if first_difference(sound, record) is not None:
                    return f"{job.name}: {sound.ticks} ticks"
                if sound.ticks and record.kept != sound.kept:
                    return f"{job.name}: what is kept"
    if not compiles:
        return NO_MUTANT
    return _proved(mutant)


def _limited(work: Callable[[], Any]) -> Any:
    def late(*_: object) -> None:
        raise TimeoutError

    signal.signal(signal.SIGALRM, late)
    signal.alarm(int(MOST_S))
    try:
        return work()
    finally:
        signal.alarm(0)


def _proved(mutant: Mutant) -> str:
    text = (ROOT / "templates" / "sketch" / mutant.file).read_text(encoding="utf-8")
    fault = (mutant.file, text, mutant.planted(text))
    for subject in SUBJECTS.get(mutant.file, ()):
        case = in_turn(5, 2) if subject == "in_turn" else Case(subject, limits=SMALL)
        try:
            module = compiled(case, fault)
            for tick in ticks_of(module):
                if (subject, tick) in LONG and tick != "tick_curved":
                    continue
                if _limited(lambda: prove(subject, tick, module).broken):  # noqa: B023 - at once
                    return f"proof: {subject} {tick}"
        except TimeoutError:
            continue
        except Exception as error:
            return f"proof: {subject}: {type(error).__name__}"
    return ""


# The model


class _Planted(importlib.abc.SourceLoader):
    """Loads one module from another text."""

    def __init__(self, path: Path, text: str) -> None:
        self.path, self.text = path, text

    def get_filename(self, fullname: str) -> str:
        del fullname
        return str(self.path)

    def get_data(self, path: str | bytes) -> bytes:
        del path
        return self.text.encode()

    def path_stats(self, path: str) -> Any:
        raise OSError(path)  # so that no compiled text is kept


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, name: str, loader: _Planted) -> None:
        self.name, self.loader = name, loader

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        del path, target
        if fullname != self.name:
            return None
        return importlib.machinery.ModuleSpec(fullname, self.loader, origin=str(self.loader.path))


def judged_model(mutant: Mutant, jobs: list[Job], *, thorough: bool) -> str:
    """By the model with the change against what the sound logic did; in a process of its own,
    because a loop may never end."""
    path = ROOT / mutant.file
    text = mutant.planted(path.read_text(encoding="utf-8"))

    def work() -> str:
        name = mutant.file.removesuffix(".py").replace("/", ".")
        for module in [one for one in sys.modules if one.startswith("host_tools.model")]:
            del sys.modules[module]
        sys.meta_path.insert(0, _Finder(name, _Planted(path, text)))
        model = importlib.import_module("host_tools.model").Model
        return _told_apart(jobs, lambda job: model(job.plan), thorough=thorough)

    return _apart(work)


def judged_plan(mutant: Mutant, jobs: list[Job], *, thorough: bool) -> str:
    """By the model of a plan with one number changed against the sound plan's sketch."""
    from host_tools.model import Model  # noqa: PLC0415 - the sound one of this process

    def work() -> str:
        with_it = []
        for job in jobs:
            changed = planted_in_plan(mutant, job.plan)
            if changed is not None and changed != job.plan:
                with_it.append(dataclasses.replace(job, plan=changed))
        if not with_it:
            return NO_MUTANT
        return _told_apart(with_it, lambda job: Model(job.plan), thorough=thorough)

    return _apart(work)


SHORT_JOBS, LONG_JOBS = 12, 4
"""With so many plans the model is run for a short and for a long while; what none of
them shows, with all."""


def _told_apart(jobs: list[Job], model_of: Callable[[Job], Any], *, thorough: bool) -> str:
    rounds = [jobs[:SHORT_JOBS], jobs[:LONG_JOBS]] if not thorough else [jobs] * 3
    for number, chosen in enumerate(rounds):
        for job in chosen:
            sound = job.records[number]
            try:
                record = model_of(job).run(sound.trace)
                apart = first_difference(sound, record) is not None or record.kept != sound.kept
            except Exception as error:
                return f"{job.name}: {type(error).__name__}"
            if apart:
                return f"{job.name}: {sound.ticks} ticks"
    return ""


def _apart(work: Callable[[], str]) -> str:
    """What `work` says, in a process of its own that may be ended."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(out)
        try:
            said = work()
        except Exception as error:
            said = type(error).__name__
        os.write(into, said.encode()[:400])
        os._exit(0)
    os.close(into)
    until = time.monotonic() + 3 * MOST_S
    while time.monotonic() < until:
        done, _ = os.waitpid(child, os.WNOHANG)
        if done:
            with os.fdopen(out) as told:
                return told.read()
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(out)
    return "it hangs"


def planted_in_plan(mutant: Mutant, plan: Any) -> Any:
    """The plan with the change in the first part that has it; None where there is none."""
    return _replaced(plan, mutant.file, mutant.sound, mutant.faulty)


def _replaced(value: Any, owner: str, member: str, change: str) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        if type(value).__name__ == owner:
            now = changed(getattr(value, member), change)
            if now is not None:
                return dataclasses.replace(value, **{member: now})
        for one in dataclasses.fields(value):
            if one.init and (inner := _replaced(getattr(value, one.name), owner, member, change)):
                return dataclasses.replace(value, **{one.name: inner})
    if isinstance(value, tuple) and not hasattr(value, "_fields"):
        for place, one in enumerate(value):
            inner = _replaced(one, owner, member, change)
            if inner is not None:
                return (*value[:place], inner, *value[place + 1 :])
    return None


def changed(value: Any, change: str) -> Any:
    """A value with a change such as "+1", "-1", "not", "[0]+1" or the name of another one; None
    where it does not fit."""
    if change.startswith("["):
        place, _, rest = change[1:].partition("]")
        if not isinstance(value, tuple) or len(value) <= int(place):
            return None
        inner = changed(value[int(place)], rest)
        return None if inner is None else (*value[: int(place)], inner, *value[int(place) + 1 :])
    if change == "not":
        return not value if isinstance(value, bool) else None
    if change in ("+1", "-1"):
        if isinstance(value, bool) or not isinstance(value, int) or value + int(change) < 0:
            return None
        return value + int(change)
    if isinstance(value, enum.Enum):
        members = list(type(value))
        other = members[(members.index(value) + 1) % len(members)]
        return other if change == "next" else None
    return None
