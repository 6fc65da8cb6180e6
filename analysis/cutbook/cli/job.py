"""One run folder to work up, and what comes of it."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from cutbook.model.errors import CutbookError

UNCHANGED = "unchanged; the results of before still hold (--fresh works it up anew)"


@dataclass(frozen=True)
class Job:
    """One run folder to work up, where its results go and how; `fresh` works it up even when nothing changed,
    `draws` holds its uncertainties against so many random draws."""

    folder: Path
    out: Path
    settings: Path | None = None
    decimal: str = "point"
    pdf: bool = False
    fresh: bool = False
    draws: int = 0

    def anywhere(self) -> Job:
        """The same job for a process with another working folder."""
        settings = None if self.settings is None else _whole(self.settings)
        return Job(_whole(self.folder), _whole(self.out), settings, self.decimal, self.pdf, self.fresh, self.draws)


@dataclass(frozen=True)
class Done:
    """What came of a job: lines to print and the same as plain values, or the error.

    error : the input is wrong, or the run could not be worked up.
    broken : the program is at fault; its exception in words.
    """

    lines: tuple[str, ...] = ()
    record: dict[str, Any] = field(default_factory=dict)
    error: CutbookError | None = None
    broken: str = ""


def work_up_folder(job: Job, told: Callable[[str], None] | None = None) -> Done:
    """Work up one folder and publish its results, unless those that are there still hold.

    Parameters
    ----------
    job : paths that this process can reach.
    told : called with the name of each piece of work before it begins.

    Returns
    -------
    Done
        Errors of the input are returned, not raised.
    """
    from cutbook.importers.run_sheet import read_run
    from cutbook.reporting.in_place import put_right
    from cutbook.reporting.made_from import known
    from cutbook.reporting.numbers import OutputSettings
    from cutbook.workup.read_method import read_method

    output = OutputSettings("comma" if job.decimal == "comma" else "point", job.pdf)
    out = _whole(job.out)
    try:
        run, method = read_run(job.folder), read_method(job.folder, job.settings)
        if job.draws:
            drawn = replace(method.method.monte_carlo, draws=job.draws)
            method = replace(method, method=replace(method.method, monte_carlo=drawn))
        put_right(out)
        before = None if job.fresh else known(run, method, output, out)
        if before is not None:
            return _done(job, before.lines, before.record, before.files, unchanged=True)

        # these bring in all that calculates and draws: not wanted where nothing has changed
        from cutbook.reporting.publish import publish
        from cutbook.reporting.summary import summary_lines, summary_record
        from cutbook.workup.work_up import work_up

        findings = work_up(run, method, told)
        if told is not None:
            told("workbook and page")
        files = publish(findings, out, output)
    except CutbookError as error:
        return Done(error=error)
    return _done(job, tuple(summary_lines(findings, output)), summary_record(findings), files, unchanged=False)


def _done(job: Job, lines: tuple[str, ...], record: dict[str, Any], files: dict[str, Path], unchanged: bool) -> Done:
    places = [f"  {files[name]}" for name in ("report.html", "workbook.xlsx", "results.json") if name in files]
    listed = [str(path) for path in files.values()]
    return Done(
        (*lines, *places, *([f"  {UNCHANGED}"] if unchanged else [])),
        {"folder": str(job.folder), **record, "files": listed, "unchanged": unchanged},
    )


def _whole(path: Path) -> Path:
    return Path(os.path.abspath(path))
