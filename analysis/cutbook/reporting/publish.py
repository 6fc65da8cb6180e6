"""Put a results folder in place, whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from cutbook.model.errors import InputError
from cutbook.reporting.figures import figures
from cutbook.reporting.in_place import aside, put_in_place, put_right, sync_folder
from cutbook.reporting.made_from import made_from, sealed
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.page import page
from cutbook.reporting.pdf import pdf
from cutbook.reporting.peaks_csv import peaks_csv
from cutbook.reporting.results_folder import RESULTS, RESULTS_FOLDER, FolderKind, refuse_foreign, refuse_other_places
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.summary import summary_lines, summary_record
from cutbook.reporting.workbook import workbook
from cutbook.workup.findings import Findings


def publish(findings: Findings, out: Path | str, settings: OutputSettings = AS_WRITTEN) -> dict[str, Path]:
    """Write every result of a run into the folder `out`.

    Everything is written into a new folder beside `out`, flushed to disk, and put in its place in one stroke; an
    earlier results folder is replaced as a whole. Whatever goes wrong before that, `out` stays as it was; what a
    killed process left beside it is put right first.

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
    return put_files(out, findings.run.folder, RESULTS_FOLDER, lambda: _files(findings, settings))


def put_files(
    out: Path | str, run_folder: Path, kind: FolderKind, made: Callable[[], Mapping[str, bytes]]
) -> dict[str, Path]:
    """Write files into the folder `out`, all or none; as told at `publish`.

    Parameters
    ----------
    out : the folder. run_folder : never replaced. kind : of folder.
    made : makes the files, by their names there; called when the place is known to be free.
    """
    out = Path(os.path.abspath(out))
    new = aside(out)
    former: Path | None = None
    try:
        with _told(out, kind):
            put_right(out, kind)
            refuse_other_places(out, run_folder, kind)
            out.parent.mkdir(parents=True, exist_ok=True)
            new.mkdir()
            names = list(_written(made(), new))
            refuse_other_places(out, run_folder, kind)
            former = put_in_place(new, out)
            if former is not None:
                _look_through(former, out, kind)
            sync_folder(out.parent)
    finally:
        shutil.rmtree(new, ignore_errors=True)
        if former is not None:
            shutil.rmtree(former, ignore_errors=True)
    return {name: out / name for name in names}


def _files(findings: Findings, settings: OutputSettings) -> dict[str, bytes]:
    drawn = figures(findings, settings)
    html = page(findings, settings, drawn)
    files: dict[str, bytes] = {
        "workbook.xlsx": workbook(findings, settings),
        "report.html": html.encode("utf-8"),
        "peaks.csv": peaks_csv(findings, settings).encode("utf-8"),
        **{f"figures/{one.file}": one.svg.encode("utf-8") for one in drawn},
    }
    if settings.pdf:
        files["report.pdf"] = pdf(html)
    summary = {"lines": list(summary_lines(findings, settings)), "record": summary_record(findings)}
    found = {**results(findings), "made_from": made_from(findings, settings, files, summary)}
    return {RESULTS: sealed(as_text(found)), **files}


def _written(files: Mapping[str, bytes], folder: Path) -> Iterator[str]:
    (folder / "figures").mkdir()
    for name, data in files.items():
        with open(folder / name, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        yield name
    sync_folder(folder / "figures")
    sync_folder(folder)


def _look_through(former: Path, out: Path, kind: FolderKind) -> None:
    """Put the former folder back when somebody laid a file of their own in it at the last moment."""
    try:
        refuse_foreign(former, out, kind)
    except BaseException:
        put_in_place(former, out)
        raise


@contextmanager
def _told(out: Path, kind: FolderKind) -> Iterator[None]:
    """Trouble of the file system as one line for the user."""
    try:
        yield
    except OSError as error:
        in_the_way = isinstance(error, (FileExistsError, NotADirectoryError))
        found = "a file where a folder is needed" if in_the_way else error.strerror or type(error).__name__
        raise InputError.single(str(out), kind.name, found, "a folder that can be written") from error
