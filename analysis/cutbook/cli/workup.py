"""`cutbook workup`: the main job."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click

from cutbook.cli.faults import WRONG_INPUT, as_json, error_record, fault_lines, guarded
from cutbook.model.errors import CutbookError


@dataclass(frozen=True)
class Job:
    """One run folder to work up, and where its results go."""

    folder: Path
    out: Path
    settings: Path | None
    decimal: str
    pdf: bool


@dataclass(frozen=True)
class Done:
    """What came of a job: lines to print and the same as plain values, or the error."""

    job: Job
    lines: tuple[str, ...] = ()
    record: dict[str, Any] = field(default_factory=dict)
    error: CutbookError | None = None


@click.command()
@click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FOLDER…")
@click.option("--out", type=click.Path(path_type=Path), metavar="DIR",
              help="Results folder; with several FOLDERs, where each gets one. FOLDER/results otherwise.")  # fmt: skip
@click.option("--settings", type=click.Path(path_type=Path), help="Settings file in place of FOLDER/method.toml.")
@click.option("--jobs", type=click.IntRange(1, 64), default=1, show_default=True, help="Runs worked up side by side.")
@click.option("--decimal", type=click.Choice(["point", "comma"]), default="point", show_default=True,
              help="Decimal sign in figures, page and peaks.csv.")  # fmt: skip
@click.option("--pdf", is_flag=True, help="Also write report.pdf (needs the extra `pdf`).")
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def workup(
    folders: tuple[Path, ...],
    out: Path | None,
    settings: Path | None,
    jobs: int,
    decimal: str,
    pdf: bool,
    json_wanted: bool,
) -> None:
    """Work up each run FOLDER into FOLDER/results: results.json, workbook.xlsx, report.html, peaks.csv, figures."""
    todo = [Job(folder, _out(folder, folders, out), settings, decimal, pdf) for folder in folders]
    if len({job.out for job in todo}) < len(todo):
        raise click.UsageError("two of the folders would write their results to the same place")
    finished = []
    for done in _all(todo, jobs, json_wanted):
        finished.append(done)
        if json_wanted:
            continue
        if done.error is not None:
            for line in fault_lines(done.error, str(done.job.folder) if len(todo) > 1 else ""):
                click.echo(line, err=True)
        for line in done.lines:
            click.echo(line)
    if json_wanted:
        records = [done.record if done.error is None else
                   {"folder": str(done.job.folder), **error_record(done.error)} for done in finished]  # fmt: skip
        click.echo(as_json(records))
    if any(done.error is not None for done in finished):
        sys.exit(WRONG_INPUT)


def _out(folder: Path, folders: tuple[Path, ...], out: Path | None) -> Path:
    if out is None:
        return folder / "results"
    return out if len(folders) == 1 else out / folder.resolve().name


def _all(todo: list[Job], jobs: int, quiet: bool) -> Iterator[Done]:
    """Every job in order, with a progress line on a terminal while it lasts."""
    if jobs > 1 and len(todo) > 1:
        with ProcessPoolExecutor(min(jobs, len(todo))) as pool:
            yield from pool.map(work_up_folder, todo)
        return
    for job in todo:
        if quiet or not sys.stderr.isatty():
            yield work_up_folder(job)
            continue
        from rich.console import Console

        with Console(stderr=True).status(f"{job.folder}") as status:
            done = work_up_folder(job, lambda what, job=job: status.update(f"{job.folder}: {what}"))
        yield done


def work_up_folder(job: Job, told: Any = None) -> Done:
    """Work up one folder and publish its results; errors of the input are returned, not raised."""
    from cutbook.importers.run_sheet import read_run
    from cutbook.reporting.numbers import OutputSettings
    from cutbook.reporting.publish import publish
    from cutbook.workup.read_method import read_method
    from cutbook.workup.work_up import work_up

    try:
        findings = work_up(read_run(job.folder), read_method(job.folder, job.settings), told)
        if told is not None:
            told("workbook and page")
        output = OutputSettings("comma" if job.decimal == "comma" else "point", job.pdf)
        paths = publish(findings, job.out, output)
    except CutbookError as error:
        return Done(job, error=error)
    from cutbook.reporting.summary import summary_lines, summary_record

    record = {"folder": str(job.folder), **summary_record(findings), "files": [str(path) for path in paths.values()]}
    return Done(job, (*summary_lines(findings, output), *_places(paths)), record)


def _places(paths: dict[str, Path]) -> Iterator[str]:
    for name in ("report.html", "workbook.xlsx", "results.json"):
        yield f"  {paths[name]}"
