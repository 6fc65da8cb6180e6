"""Put a results folder in place, whole or not at all."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cutbook.model.errors import InputError
from cutbook.reporting.figures import figures
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.page import page
from cutbook.reporting.pdf import pdf
from cutbook.reporting.peaks_csv import peaks_csv
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.workbook import workbook
from cutbook.workup.findings import Findings

OURS = frozenset({"results.json", "workbook.xlsx", "report.html", "report.pdf", "peaks.csv", "figures"})
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})


def publish(findings: Findings, out: Path | str, settings: OutputSettings = AS_WRITTEN) -> dict[str, Path]:
    """Write every result of a run into the folder `out`.

    Everything is written into a new folder beside `out`, flushed to disk, and renamed into place; an earlier
    results folder is replaced as a whole. Whatever goes wrong before that, `out` stays as it was.

    Parameters
    ----------
    findings : of one run.
    out : the results folder; made with its parents when missing.
    settings : decimal sign; whether to write report.pdf too.

    Returns
    -------
    dict
        File name ("results.json", "figures/yields.svg" …) -> path.

    Raises
    ------
    InputError
        When `out` is a link, a file, the run folder or one above it, holds something that is not a former
        result, or cannot be written.
    MissingExtraError
        When a PDF is asked for and WeasyPrint is not installed.
    """
    out = Path(os.path.abspath(out))
    with _told(out):
        _check(out, findings.run.folder)
        out.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=f".{out.name}.writing-", dir=out.parent))
    try:
        with _told(out):
            names = list(_written(findings, aside, settings))
            os.chmod(aside, 0o777 & ~_umask())
            _check(out, findings.run.folder)
            _swap(aside, out)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return {name: out / name for name in names}


def _written(findings: Findings, folder: Path, settings: OutputSettings) -> Iterator[str]:
    drawn = figures(findings, settings)
    html = page(findings, settings, drawn)
    files: dict[str, bytes] = {
        "results.json": as_text(results(findings)).encode("utf-8"),
        "workbook.xlsx": workbook(findings, settings),
        "report.html": html.encode("utf-8"),
        "peaks.csv": peaks_csv(findings, settings).encode("utf-8"),
        **{f"figures/{one.file}": one.svg.encode("utf-8") for one in drawn},
    }
    if settings.pdf:
        files["report.pdf"] = pdf(html)
    (folder / "figures").mkdir()
    for name, data in files.items():
        with open(folder / name, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        yield name
    _sync_folder(folder / "figures")
    _sync_folder(folder)


def _check(out: Path, run_folder: Path) -> None:
    """Refuse every `out` that is not a place for results."""
    if out.is_symlink():
        raise _refused(out, "a link", "a folder of its own")
    if not out.exists():
        return
    if not out.is_dir():
        raise _refused(out, "a file", "a folder")
    run = Path(os.path.abspath(run_folder)).resolve()
    if out.resolve() == run or out.resolve() in run.parents:
        raise _refused(out, "the run folder or one above it", "a folder for results alone")
    inside = {entry.name: entry for entry in out.iterdir() if entry.name not in LITTER}
    foreign = sorted(name for name in inside if name not in OURS)
    if "figures" in inside and not foreign:
        figures_folder = inside["figures"]
        if figures_folder.is_symlink() or not figures_folder.is_dir():
            foreign = ["figures"]
        else:
            foreign = sorted(
                f"figures/{e.name}" for e in figures_folder.iterdir() if e.suffix != ".svg" and e.name not in LITTER
            )
    if foreign:
        more = f" and {len(foreign) - 1} more" if len(foreign) > 1 else ""
        raise _refused(out, f"'{foreign[0]}'{more} in it", "an empty folder or former results and nothing else")
    if inside and not _is_former(inside.get("results.json")):
        raise _refused(out, "no results.json of this program in it", "an empty folder or former results")


def _is_former(path: Path | None) -> bool:
    if path is None or path.is_symlink() or not path.is_file():
        return False
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(found, dict) and isinstance(found.get("schema"), int) and "cutbook" in found


def _refused(out: Path, found: str, expected: str) -> InputError:
    return InputError.single(str(out), "results folder", found, expected, "Name another folder with --out.")


def _swap(aside: Path, out: Path) -> None:
    """Rename the new folder into place; the former one is moved aside first and put back if that fails."""
    former: Path | None = None
    if out.exists():
        former = Path(tempfile.mkdtemp(prefix=f".{out.name}.former-", dir=out.parent))
        former.rmdir()
        os.rename(out, former)
    try:
        os.rename(aside, out)
    except BaseException:
        if former is not None:
            os.rename(former, out)
        raise
    _sync_folder(out.parent)
    if former is not None:
        shutil.rmtree(former, ignore_errors=True)


def _sync_folder(folder: Path) -> None:
    """Flush a folder's entries to disk where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _umask() -> int:
    current = os.umask(0o022)
    os.umask(current)
    return current


@contextmanager
def _told(out: Path) -> Iterator[None]:
    """Trouble of the file system as one line for the user."""
    try:
        yield
    except OSError as error:
        raise InputError.single(
            str(out), "results folder", error.strerror or type(error).__name__, "a folder that can be written"
        ) from error
