"""What no input may do, whatever it holds: take long, take memory, touch a file, run anything."""

from __future__ import annotations

import resource
import signal
import sys
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

DEADLINE_S = 1.0
"""Of the processor's time: what else runs on this computer is no fault of the input."""

MOST_MEMORY = 1 << 29
"""Bytes that one input may make a process grow by."""

ROOT = Path(__file__).parents[2]

_WRITING = ("w", "a", "x", "+")
_NEVER = (
    *("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork"),
    *("os.remove", "os.rename", "os.rmdir", "os.mkdir", "os.link", "os.symlink", "os.chmod"),
    *("os.truncate", "shutil.rmtree", "shutil.copyfile", "tempfile.mkdtemp", "tempfile.mkstemp"),
    *("socket.connect", "socket.bind", "socket.getaddrinfo", "urllib.Request", "pickle.find_class"),
    *("ctypes.dlopen", "marshal.loads", "webbrowser.open", "pty.spawn"),
)
"""Events of Python's audit hooks (PEP 578)."""


class Fault(AssertionError):  # noqa: N818 - it is the input that is at fault
    """An input did something that none may do."""


@dataclass
class _Watch:
    on: bool = False
    trusts: bool = False
    runs_code: bool = False
    folder: Path | None = None
    seen: list[str] = field(default_factory=list)

    def _may(self, path: Path) -> bool:
        return self.folder in (path, path.parent)

    def hook(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.on:
            return
        if event == "open" or event.startswith("os."):
            paths = [str(one) for one in arguments[:2] if isinstance(one, str | Path)]
            if event == "open":
                paths = paths[:1]
            if self.folder and paths and all(self._may(Path(one)) for one in paths):
                return
        if event == "open":
            path, mode = arguments[0], arguments[1]
            if isinstance(mode, str) and any(sign in mode for sign in _WRITING):
                self.seen.append(f"opens {path!r} to write")
            elif isinstance(path, str) and not _is_ours(path):
                self.seen.append(f"opens {path!r}")
        elif event in _NEVER or (event in ("exec", "compile") and not self.runs_code):
            self.seen.append(f"{event} {arguments!r}"[:200])


def _is_ours(path: str) -> bool:
    return any(Path(path).is_relative_to(folder) for folder in (ROOT, sys.prefix, sys.base_prefix))


_watch = _Watch()
_hooked = False


@contextmanager
def guarded(
    *, runs_code: bool = False, deadline_s: float = DEADLINE_S, folder: Path | None = None
) -> Iterator[None]:
    """Raises Fault when what runs within takes too long or touches what it must not. With
    `runs_code` our own templates may be made into code; what lies in `folder` may be written. Only in a process's main thread; what is
    loaded when it is first needed must have been loaded before."""
    global _hooked  # noqa: PLW0603 - an audit hook cannot be taken away again
    if not _hooked:
        sys.addaudithook(_watch.hook)
        _hooked = True
    _watch.seen.clear()
    _watch.runs_code = runs_code
    _watch.folder = folder

    def too_long(*_: object) -> None:
        raise Fault(f"takes longer than {deadline_s:g} s")

    if _watch.trusts:
        yield
        return
    before = signal.signal(signal.SIGPROF, too_long)
    began = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, deadline_s)
    _watch.on = True
    try:
        yield
    finally:
        _watch.on = False
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
    took_s = time.process_time() - began
    if took_s > deadline_s:  # within something that no signal stops
        raise Fault(f"takes {took_s:.1f} s")
    if _watch.seen:
        raise Fault("; ".join(_watch.seen[:3]))


@contextmanager
def trusted() -> Iterator[None]:
    """Good inputs, on which everything is loaded that is loaded when it is first needed."""
    _watch.trusts = True
    try:
        yield
    finally:
        _watch.trusts = False


@contextmanager
def bounded_memory(most: int = MOST_MEMORY) -> Iterator[None]:
    """What runs within gets a MemoryError instead of more than `most` bytes on top."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    before = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (pages * resource.getpagesize() + most, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, before)
