"""Put a folder in the place of another so that a kill at any moment leaves the one or the other there, whole.

Where the system can exchange two folders in one stroke (Linux, on most file systems), the place is never empty.
Elsewhere the former folder is first renamed aside; a kill between that and the next rename leaves the place
empty, and `put_right` brings the former folder back before anything else is done there.

No lock is held. Each step is one rename, which either happens or does not, and each process renames folders that it
alone knows the names of; of two processes that end together, the later one replaces the folder of the earlier.
"""

from __future__ import annotations

import errno
import functools
import hashlib
import os
import platform
import re
import secrets
import shutil
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from cutbook.reporting.results_folder import RESULTS_FOLDER, FolderKind, foreign

ASIDE = re.compile(
    r"\.(?P<of>.+)\.(?P<what>writing|former)-(?P<machine>[0-9a-f]{8})-(?P<pid>[1-9]\d*)-(?P<since>\d+)-[0-9a-f]{8}"
)
FORGOTTEN_S = 24 * 3600  # no work-up lasts a day
CHANGED_MEANWHILE = (errno.ENOTEMPTY, errno.EEXIST, errno.ENOENT)
ATTEMPTS = 100  # each that fails is another process that has put its folder there, or taken it, meanwhile


def aside(out: Path, what: str = "writing") -> Path:
    """A name beside `out` that nobody else has, telling whose it is and since when."""
    return out.parent / f".{out.name}.{what}-{_machine()}-{os.getpid()}-{int(time.time())}-{secrets.token_hex(4)}"


def put_in_place(new: Path, out: Path) -> Path | None:
    """Put the folder `new` in the place `out`.

    Returns
    -------
    Path or None
        Where the folder is that was there before, for the caller to look through and delete.

    Raises
    ------
    OSError
        When the file system refuses; `out` is then as it was.
    """
    for left in reversed(range(ATTEMPTS)):
        try:
            return _once(new, out)
        except OSError as error:
            if error.errno not in CHANGED_MEANWHILE or not left:
                raise
    raise AssertionError("the last attempt returns or raises")


def put_right(out: Path, kind: FolderKind = RESULTS_FOLDER) -> None:
    """Undo what a killed process left beside `out`: bring a former folder back to an empty place, delete the rest.

    Only folders that carry our mark, hold nothing but results, and whose process is gone or that are older than
    a day are touched.
    """
    try:
        entries = sorted(out.parent.iterdir(), reverse=True)
    except OSError:
        return
    for entry in entries:
        mark = ASIDE.fullmatch(entry.name)
        if mark is None or mark["of"] != out.name or not _is_left(mark):
            continue
        with suppress(OSError):
            if entry.is_symlink() or not entry.is_dir() or foreign(entry, kind):
                continue
            if mark["what"] == "former" and not os.path.lexists(out):
                os.rename(entry, out)
            else:
                shutil.rmtree(entry)


def sync_folder(folder: Path) -> None:
    """Flush a folder's entries to disk where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _once(new: Path, out: Path) -> Path | None:
    if not os.path.lexists(out):
        os.rename(new, out)
        return None
    return new if _exchange(new, out) else _by_two_renames(new, out)


def _by_two_renames(new: Path, out: Path) -> Path:
    """The name "former" stands only while the place is empty, so that what bears it is always whole."""
    former, spent = aside(out, "former"), aside(out)
    os.rename(out, former)
    try:
        os.rename(new, out)
    except BaseException:
        try:
            os.rename(former, out)
        except OSError:
            if os.path.lexists(out):  # another process has put its folder there: that one stays
                os.rename(former, spent)
                shutil.rmtree(spent, ignore_errors=True)
        raise
    os.rename(former, spent)
    return spent


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one stroke; False where that is refused, for whatever reason."""
    call = _renameat2()
    here, exchange = -100, 2  # AT_FDCWD, RENAME_EXCHANGE
    return call is not None and call(here, os.fsencode(one), here, os.fsencode(other), exchange) == 0


@functools.cache
def _renameat2() -> Callable[..., int] | None:
    if sys.platform != "linux":
        return None
    import ctypes

    try:
        call = ctypes.CDLL(None).renameat2
    except (OSError, AttributeError):  # a C library without it
        return None
    call.argtypes = (ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_uint)
    call.restype = ctypes.c_int
    return call


def _is_left(mark: re.Match[str]) -> bool:
    """Whether nobody works in a folder any more."""
    if time.time() - int(mark["since"]) > FORGOTTEN_S:
        return True
    # os.kill(pid, 0) asks on POSIX and strikes on Windows
    if mark["machine"] != _machine() or os.name != "posix":
        return False
    try:
        os.kill(int(mark["pid"]), 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False
    return False


@functools.cache
def _machine() -> str:
    """Where a process number means one process: the machine, and in it the container."""
    try:
        space = os.readlink("/proc/self/ns/pid")
    except OSError:
        space = ""
    return hashlib.sha256(f"{platform.node()} {space}".encode()).hexdigest()[:8]
