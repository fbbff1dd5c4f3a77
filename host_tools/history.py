"""Ship files under version control: which of all their versions has a certain plan id.

git is asked for every version of every YAML file; each different content is read once, by the same
reader as ever, newest first.
"""

from __future__ import annotations

import os
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gen.diagnostics import ShipError, show
from gen.load import load_text
from gen.nodes import MOST_BYTES
from gen.toolchain import MissingTool

if TYPE_CHECKING:
    from collections.abc import Callable

PATTERNS = ("*.yaml", "*.yml")
FIELDS = "%H%x00%cs%x00%s"
"""Commit, day and first line, with zeros between them."""

GONE = "0" * 40
"""What git gives for the content of a file that a commit deletes."""


@dataclass(frozen=True)
class Version:
    """A ship file as one commit wrote it; an empty `commit` is the file as it lies there now."""

    file: str
    commit: str = ""
    day: str = ""
    subject: str = ""

    def told(self) -> str:
        """For people."""
        if not self.commit:
            return f"{self.file}, as it is now"
        return f"{self.file}, commit {self.commit[:12]} of {self.day}: {self.subject}"

    def as_json(self) -> dict[str, str]:
        """For machines."""
        return {
            "file": self.file,
            "commit": self.commit,
            "day": self.day,
            "subject": self.subject,
        }


def check_repository(folder: Path) -> None:
    """Raises ShipError (`not-a-repository`) or MissingTool (`no-git`)."""
    if not folder.is_dir() or _git(folder, "rev-parse", "--show-toplevel") is None:
        raise ShipError.about(
            str(folder),
            "not-a-repository",
            "is no folder under version control with git",
            hint="name the folder of your ship files; `git init` there begins one",
        )


def content_at(file: Path, revision: str) -> bytes:
    """A file as it was in a revision such as HEAD~1, a tag or a commit. Raises ShipError
    (`not-a-repository`, `unknown-name`) or MissingTool."""
    folder = file.parent
    check_repository(folder)
    found = None
    if not revision.startswith("-"):  # which git would take for an option
        version = f"{revision}:./{file.name}"
        found = _git(folder, "cat-file", "blob", version, most=MOST_BYTES + 1)
    if found is None:
        raise ShipError.about(
            str(file),
            "unknown-name",
            "git knows no such version of this file",
            got=show(revision),
            expected="a revision in which it is there, such as HEAD, HEAD~1, a tag or a commit",
            hint=f"`git log --follow {file.name}` lists them",
        )
    return found


def versions_with(
    folder: Path, plan_id: str, progress: Callable[[int, int], None] = lambda _done, _of: None
) -> list[Version]:
    """Every version in `folder` and below that has this plan id: first files as they are now, then
    commits, newest first. Raises as `check_repository` does."""
    check_repository(folder)
    found = [
        Version(str(path.relative_to(folder)))
        for pattern in PATTERNS
        for path in sorted(folder.rglob(pattern))
        if plan_id_of(_head(path), path.name) == plan_id
    ]
    committed = _committed(folder)
    known: dict[str, str | None] = {}
    for number, (version, content) in enumerate(committed):
        progress(number, len(committed))
        if content not in known:
            text = _git(folder, "cat-file", "blob", content, most=MOST_BYTES + 1)
            known[content] = plan_id_of(text or b"", Path(version.file).name)
        if known[content] == plan_id:
            found.append(version)
    return found


def _head(path: Path) -> bytes:
    """A file's content, as far as a ship file goes; nothing of what cannot be read."""
    try:
        if not path.is_file():  # a pipe would be waited for
            return b""
        with path.open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except OSError:
        return b""


def plan_id_of(content: bytes, name: str) -> str | None:
    """The plan id of a ship file's content, None if it is no ship file that can be used."""
    try:
        return load_text(content, name).plan.plan_id
    except ShipError:
        return None


def _committed(folder: Path) -> list[tuple[Version, str]]:
    """Every version that any commit wrote, newest first, with the name of its content."""
    log = _git(
        folder,
        "log",
        "--all",
        "--date-order",
        "--raw",
        "--no-abbrev",
        "--no-renames",
        "-m",
        "--relative",
        "-z",
        f"--format=%x01{FIELDS}",
        "--",
        *PATTERNS,
    )
    versions: dict[tuple[str, str, str], tuple[Version, str]] = {}
    for commit in (log or b"").decode(errors="replace").split("\x01")[1:]:
        name, day, subject, *changes = commit.split("\0")
        marks = [change.lstrip("\n") for change in changes if change.strip("\n")]
        for mark, file in zip(marks[::2], marks[1::2], strict=False):
            content = mark.split(" ")[3]
            if content != GONE:
                version = Version(file, name, day, subject)
                versions[name, file, content] = version, content
    return list(versions.values())


_NOTHING_RUN = (
    *("core.fsmonitor=false", "core.hooksPath=", "log.showSignature=false", "diff.external="),
    *("protocol.allow=never", "core.pager=cat"),
)
"""What a folder's own settings could have git run, or fetch (git-config)."""


def _git(folder: Path, *arguments: str, most: int = -1) -> bytes | None:
    """What git says, `most` bytes of it; None if it refuses. Nothing that the folder's own settings
    name is run."""
    settings = [word for one in ("core.quotePath=false", *_NOTHING_RUN) for word in ("-c", one)]
    command = ["git", "--no-optional-locks", "-C", str(folder), *settings, *arguments]
    without = {"GIT_TERMINAL_PROMPT": "0", "GIT_NO_LAZY_FETCH": "1"}
    try:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, **without},
        )
    except FileNotFoundError as error:
        raise MissingTool(
            "no-git", "git is not installed", "install it; on Debian `sudo apt install git`"
        ) from error
    with process:
        assert process.stdout is not None  # noqa: S101 - a pipe was asked for
        said = process.stdout.read(most)
        is_cut = len(said) == most
        if is_cut:
            process.kill()
    return said if is_cut or process.returncode == 0 else None
