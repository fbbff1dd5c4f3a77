"""Where things are kept that can always be made again."""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from gen.toolchain import MissingTool

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


def cache_folder() -> Path:
    """This user's cache: $PINRAIL_CACHE, or where the system keeps such things."""
    if own := os.environ.get("PINRAIL_CACHE"):
        return Path(own)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home())) / "pinrail"
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "pinrail"


def made_once(kind: str, key: Iterable[bytes], make: Callable[[Path], None]) -> Path:
    """The folder that `make` filled for this key, now or at some time before.

    Safe when several processes want it at once: each fills a folder of its own, and the first one
    to finish gives its own the final name. What lies there is run, so that a folder which another
    user made or may write in is not taken: raises MissingTool (`cache-unsafe`).
    """
    digest = hashlib.sha256()
    for part in key:
        digest.update(len(part).to_bytes(8, "big") + part)
    folder = cache_folder() / f"{kind}-{digest.hexdigest()[:16]}"
    if os.path.lexists(folder):
        return _ours(folder)
    folder.parent.mkdir(parents=True, exist_ok=True)
    draft = Path(tempfile.mkdtemp(prefix=f"{folder.name}.", dir=folder.parent))
    try:
        make(draft)
        draft.rename(folder)
    except OSError:
        if not folder.is_dir():
            raise
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return _ours(folder)


def _ours(folder: Path) -> Path:
    """The folder itself, if nobody but this user (or the system's own) can have put it there:
    `mkdtemp` lets nobody else in."""
    about = folder.lstat()
    others_write = about.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
    is_posix = hasattr(os, "geteuid")  # elsewhere a user's own folders are no one else's
    if (is_posix and about.st_uid not in (os.geteuid(), 0)) or (is_posix and others_write):
        why = "belongs to another user, or others may write in it"
    elif not stat.S_ISDIR(about.st_mode):
        why = "is no folder"
    else:
        return folder
    raise MissingTool(
        "cache-unsafe",
        f"{folder} {why}, so that what lies in it is not run",
        "remove it, or name a folder of your own in the environment variable PINRAIL_CACHE",
    )
