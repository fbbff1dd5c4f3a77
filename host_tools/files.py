"""Files written whole or not at all, and folders replaced only when everything in them is ours.

A file is written beside its place under another name and then renamed over it, so that a full disk,
a crash or Ctrl-C leaves either the old file or the new one. A folder that Pinrail writes carries a
manifest with the hash of each file in it; a folder that holds anything else, or a file changed
since, belongs to its owner and is left alone.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import unicodedata
from itertools import count
from typing import TYPE_CHECKING

from gen.diagnostics import Problem, ShipError
from gen.reserved import DEVICES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

MANIFEST = ".pinrail.json"
"""Lists what Pinrail wrote into a folder; a dot file, so that the makers' tools pass over it."""

_MANIFEST_FORMAT = 1


def write_file(path: Path, content: str | bytes | Iterable[str], *, replace: bool) -> None:
    """Write `content` (text as UTF-8 with plain newlines) to `path`, whole or not at all.

    With `replace` false an existing file is refused. Raises ShipError with the code `exists` or
    `cannot-write`.
    """
    if not replace:
        refuse_existing(path)
    partial = _beside(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with partial.open("xb") as stream:
                for piece in _pieces(content):
                    stream.write(piece)
            partial.replace(path)
        except BaseException:
            partial.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise _cannot_write(path, error) from error


def refuse_existing(*paths: Path) -> None:
    """Raise ShipError (`exists`) with every one of these that is there already."""
    there = [
        _problem(
            path,
            "exists",
            "is there already and is not overwritten",
            "move it away, or choose another place",
        )
        for path in paths
        if os.path.lexists(path)
    ]
    if there:
        raise ShipError(there)


def free_name(folder: Path, name: str, ending: str) -> Path:
    """A file's name that is not taken: work that took hours must not end for want of one."""
    names = (f"{name}{f'-{number}' if number > 1 else ''}{ending}" for number in count(1))
    return next(folder / one for one in names if not os.path.lexists(folder / one))


MOST_STEM_BYTES = 120
"""With an ending, and what stands around it while it is written, well below the 255 bytes that file
systems take (from memory)."""


def plain_stem(text: str, otherwise: str) -> str:
    """A file's name without its ending, made from any text: letters and digits in lower case with
    "-" between, the same on every system; `otherwise` where nothing is left of it."""
    plain = re.sub(r"[\W_]+", "-", unicodedata.normalize("NFC", text).casefold()).strip("-")
    plain = plain.encode()[:MOST_STEM_BYTES].decode(errors="ignore").strip("-")
    return f"{plain}-{otherwise}" if plain in DEVICES else plain or otherwise


def write_folder(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Make `folder` hold exactly `files` (relative path to content) and a manifest of them.

    A folder that Pinrail wrote and nobody changed is replaced at one stroke. Raises ShipError as
    `check_ours` does, or with the code `cannot-write`.
    """
    check_ours(folder)
    contents = {name: b"".join(_pieces(content)) for name, content in files.items()}
    manifest = {
        "pinrail": _MANIFEST_FORMAT,
        "sha256": {name: _hash(content) for name, content in sorted(contents.items())},
    }
    contents[MANIFEST] = (json.dumps(manifest, indent=1) + "\n").encode()

    partial, old = _beside(folder), _beside(folder, "old")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        partial.mkdir()  # one that is there already is not ours, wherever it leads
        try:
            for name, content in contents.items():
                target = partial / name
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(content)
            if folder.exists():
                folder.rename(old)
            try:
                partial.rename(folder)
            except BaseException:
                if old.exists():
                    old.rename(folder)
                raise
        finally:
            shutil.rmtree(partial, ignore_errors=True)
            shutil.rmtree(old, ignore_errors=True)
    except OSError as error:
        raise _cannot_write(folder, error) from error


def check_ours(folder: Path) -> None:
    """Raise ShipError (code `not-ours`) when `folder` holds anything that Pinrail did not write,
    or wrote and its owner changed since. An empty or a missing folder is nobody's.
    """
    if not os.path.lexists(folder):
        return
    if folder.is_symlink() or not folder.is_dir():
        raise _not_ours(folder, "is not a folder")
    try:
        hashes = _manifest(folder)
        present = sorted(
            path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()
        )
        for name in present:
            if name == MANIFEST:
                continue
            if name not in hashes:
                raise _not_ours(folder / name, "was not written by Pinrail")
            if _hash((folder / name).read_bytes()) != hashes[name]:
                raise _not_ours(folder / name, "was changed after Pinrail wrote it")
    except OSError as error:
        raise _refused(
            folder, "cannot-read", f"cannot be read: {error.strerror}", "see its permissions"
        ) from error


def check_only_ours(folder: Path) -> None:
    """Raise ShipError (code `not-ours`) unless all that lies in `folder` is folders that Pinrail
    wrote: the test for a folder named with --out, which may hold several of them.
    """
    if folder.is_symlink() or not folder.is_dir() or (folder / MANIFEST).exists():
        check_ours(folder)
        return
    for path in sorted(folder.iterdir()):
        if path.is_dir():
            check_ours(path)
        else:
            raise _not_ours(path, "was not written by Pinrail")


def _manifest(folder: Path) -> dict[str, str]:
    try:
        manifest = json.loads((folder / MANIFEST).read_bytes())
        if manifest["pinrail"] == _MANIFEST_FORMAT:
            return {str(name): str(digest) for name, digest in manifest["sha256"].items()}
    except FileNotFoundError:
        pass
    except (ValueError, KeyError, TypeError, AttributeError):
        raise _not_ours(folder / MANIFEST, "is not a manifest that Pinrail wrote") from None
    return {}


def _pieces(content: str | bytes | Iterable[str]) -> Iterable[bytes]:
    if isinstance(content, bytes):
        yield content
    elif isinstance(content, str):
        yield content.encode()
    else:
        for text in content:
            yield text.encode()


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _beside(path: Path, ending: str = "partial") -> Path:
    return path.absolute().with_name(f".{path.name}.{os.getpid()}.{ending}")


def _not_ours(path: Path, what: str) -> ShipError:
    return _refused(
        path,
        "not-ours",
        f"{what}, so nothing here is replaced",
        "move it away, or choose another folder with --out DIR",
    )


def _cannot_write(path: Path, error: OSError) -> ShipError:
    return _refused(
        path,
        "cannot-write",
        f"cannot be written: {error.strerror or error}",
        "choose a folder of your own with --out DIR",
    )


def _refused(path: Path, code: str, what: str, hint: str) -> ShipError:
    return ShipError([_problem(path, code, what, hint)])


def _problem(path: Path, code: str, what: str, hint: str) -> Problem:
    return Problem(file=str(path), line=0, col=0, code=code, what=what, hint=hint)
