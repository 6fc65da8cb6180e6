"""What a results folder may hold, and which places are refused as one."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

from cutbook.model.errors import InputError

RESULTS = "results.json"
OURS = frozenset({RESULTS, "workbook.xlsx", "report.html", "report.pdf", "peaks.csv", "figures"})
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})


def refuse_other_places(out: Path, run_folder: Path) -> None:
    """Refuse every `out` that is not a place for results.

    Raises
    ------
    InputError
        When `out` is a link, a file, the run folder or one above it, or holds something that is not a former result.
    """
    if out.is_symlink():
        raise refused(out, "a link", "a folder of its own")
    if not out.exists():
        return
    if not out.is_dir():
        raise refused(out, "a file", "a folder")
    run = Path(os.path.abspath(run_folder)).resolve()
    if out.resolve() == run or out.resolve() in run.parents:
        raise refused(out, "the run folder or one above it", "a folder for results alone")
    refuse_foreign(out, out)


def refuse_foreign(folder: Path, out: Path) -> None:
    """Refuse a folder, known to the user as `out`, with anything in it that is not a former result."""
    strangers = foreign(folder)
    if strangers:
        more = f" and {len(strangers) - 1} more" if len(strangers) > 1 else ""
        raise refused(out, f"'{strangers[0]}'{more} in it", "an empty folder or former results and nothing else")
    if any(entry.name not in LITTER for entry in folder.iterdir()) and not _is_former(folder / RESULTS):
        raise refused(out, "no results.json of this program in it", "an empty folder or former results")


def foreign(folder: Path) -> list[str]:
    """Names of what is in a folder and no result, sorted."""
    inside = {entry.name: entry for entry in folder.iterdir() if entry.name not in LITTER}
    strangers = sorted(name for name in inside if name not in OURS)
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


def refused(out: Path, found: str, expected: str) -> InputError:
    """The error about a place for results."""
    return InputError.single(str(out), "results folder", found, expected, "Name another folder with --out.")
