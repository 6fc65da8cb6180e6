"""What a folder of results may hold, and which places are refused as one."""

from __future__ import annotations

import json
import os
import re
from dataclasses import dataclass
from pathlib import Path

from cutbook.importers.plan_file import PLAN_NAME
from cutbook.model.errors import InputError

RESULTS = "results.json"
OURS = frozenset({RESULTS, "workbook.xlsx", "report.html", "report.pdf", "peaks.csv", "figures"})
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})


@dataclass(frozen=True)
class FolderKind:
    """A kind of folder that is replaced as a whole. name : in messages. main : its file that says whose it is.
    ours : what may lie in it."""

    name: str
    main: str
    ours: frozenset[str]


RESULTS_FOLDER = FolderKind("results folder", RESULTS, OURS)
PLAN_FOLDER = FolderKind("plan folder", PLAN_NAME, frozenset({PLAN_NAME, "plan.csv", "figures"}))


def refuse_other_places(out: Path, run_folder: Path, kind: FolderKind = RESULTS_FOLDER) -> None:
    """Refuse every `out` that is not a place for results.

    Raises
    ------
    InputError
        When `out` is a link, a file, the run folder or one above it, or holds something that is not a former result.
    """
    if out.is_symlink():
        raise refused(out, "a link", "a folder of its own", kind)
    if not out.exists():
        return
    if not out.is_dir():
        raise refused(out, "a file", "a folder", kind)
    run = Path(os.path.abspath(run_folder)).resolve()
    if out.resolve() == run or out.resolve() in run.parents:
        raise refused(out, "the run folder or one above it", "a folder for results alone", kind)
    refuse_foreign(out, out, kind)


def refuse_foreign(folder: Path, out: Path, kind: FolderKind = RESULTS_FOLDER) -> None:
    """Refuse a folder, known to the user as `out`, with anything in it that is not a former result."""
    strangers = foreign(folder, kind)
    if strangers:
        more = f" and {len(strangers) - 1} more" if len(strangers) > 1 else ""
        expected = "an empty folder or former results and nothing else"
        raise refused(out, f"'{strangers[0]}'{more} in it", expected, kind)
    if any(entry.name not in LITTER for entry in folder.iterdir()) and not _is_former(folder / kind.main):
        raise refused(out, f"no {kind.main} of this program in it", "an empty folder or former results", kind)


def foreign(folder: Path, kind: FolderKind = RESULTS_FOLDER) -> list[str]:
    """Names of what is in a folder and no result, sorted."""
    inside = {entry.name: entry for entry in folder.iterdir() if entry.name not in LITTER}
    strangers = sorted(name for name in inside if name not in kind.ours)
    drawn = inside.get("figures")
    if strangers or drawn is None:
        return strangers
    if drawn.is_symlink() or not drawn.is_dir():
        return ["figures"]
    return sorted(f"figures/{e.name}" for e in drawn.iterdir() if e.suffix != ".svg" and e.name not in LITTER)


def result_files(folder: Path) -> dict[str, Path]:
    """Every ordinary file of a results folder by its name there ("workbook.xlsx", "figures/yields.svg")."""
    found = {
        entry.relative_to(folder).as_posix(): entry for at in (folder, folder / "figures") for entry in at.glob("*")
    }
    return {
        name: path
        for name, path in found.items()
        if (name in OURS or re.fullmatch(r"figures/[^/]+\.svg", name)) and path.is_file() and not path.is_symlink()
    }


def _is_former(path: Path) -> bool:
    if path.is_symlink() or not path.is_file():
        return False
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(found, dict) and isinstance(found.get("schema"), int) and "cutbook" in found


def refused(out: Path, found: str, expected: str, kind: FolderKind = RESULTS_FOLDER) -> InputError:
    """The error about a place for results."""
    return InputError.single(str(out), kind.name, found, expected, "Name another folder with --out.")
