"""`cutbook workup`: the main job."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from cutbook.cli.faults import OWN_FAULT, TRACEBACK, WRONG_INPUT, as_json, error_record, fault_lines, guarded
from cutbook.cli.job import Done, Job, work_up_folder
from cutbook.cli.progress import counted, status

NAMED_AT_THE_END = 20


@click.command()
@click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FOLDER…")
@click.option("--out", type=click.Path(path_type=Path), metavar="DIR",
              help="Results folder; with several FOLDERs, where each gets one. FOLDER/results otherwise.")  # fmt: skip
@click.option("--settings", type=click.Path(path_type=Path), help="Settings file in place of FOLDER/method.toml.")
@click.option("--jobs", type=click.IntRange(1, 64), default=1, show_default=True, help="Runs worked up side by side.")
@click.option("--cluster", metavar="ADDRESS",
              help="Work up on the workers of the Dask scheduler at ADDRESS (tcp://host:port). FOLDERs must lie on a "
                   "file system that the workers share, under the same path. Needs the extra `cluster`.")  # fmt: skip
@click.option("--fresh", is_flag=True, help="Work up anew even what has not changed since the results were made.")
@click.option("--decimal", type=click.Choice(["point", "comma"]), default="point", show_default=True,
              help="Decimal sign in figures, page and peaks.csv.")  # fmt: skip
@click.option("--pdf", is_flag=True, help="Also write report.pdf (needs the extra `pdf`).")
@click.option("--monte-carlo", "draws", type=click.IntRange(1000, 200_000), metavar="N",
              help="Hold the uncertainties of balance, gas and cuts on feed against N random draws of the "
                   "measurements.")  # fmt: skip
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def workup(
    folders: tuple[Path, ...],
    out: Path | None,
    settings: Path | None,
    jobs: int,
    cluster: str | None,
    fresh: bool,
    decimal: str,
    pdf: bool,
    draws: int | None,
    json_wanted: bool,
) -> None:
    """Work up each run FOLDER into FOLDER/results: results.json, workbook.xlsx, report.html, peaks.csv, figures.

    A FOLDER is left alone when its results are whole and nothing has changed since: run sheet, settings, instrument
    files and the program itself are known by their content.
    """
    todo = [Job(folder, _out(folder, folders, out), settings, decimal, pdf, fresh, draws or 0) for folder in folders]
    if len({os.path.realpath(job.out) for job in todo}) < len(todo):
        raise click.UsageError("two of the folders would write their results to the same place")
    if cluster is not None:
        from cutbook.cli.cluster import on_cluster

        sys.exit(tell(todo, on_cluster(todo, cluster), json_wanted))
    sys.exit(tell(todo, arrivals(todo, jobs), json_wanted))


def _out(folder: Path, folders: tuple[Path, ...], out: Path | None) -> Path:
    if out is None:
        return folder / "results"
    return out if len(folders) == 1 else out / folder.resolve().name


def arrivals(todo: Sequence[Job], jobs: int) -> Iterator[tuple[int, Done]]:
    """Work up jobs in this process or in so many others; number of each job and what came of it, as they end."""
    if len(todo) == 1:
        with status(str(todo[0].folder)) as told:
            done = work_up_folder(todo[0], told)
        yield 0, done
        return
    from cutbook.cli.batch import one_by_one, side_by_side

    yield from side_by_side(todo, jobs) if jobs > 1 else one_by_one(todo)


def tell(todo: Sequence[Job], arriving: Iterator[tuple[int, Done]], json_wanted: bool = False) -> int:
    """Print what comes of jobs, in their order, and at the end which of many went wrong.

    Returns
    -------
    int
        The exit status: 0, 1 when an input was wrong, 3 when the program failed.
    """
    many = len(todo) > 1
    records: list[dict[str, Any]] = []
    bad: list[str] = []
    closures: list[Mapping[str, Any]] = []
    exit_status = 0
    if many and not json_wanted:
        arriving = counted(arriving, len(todo))
    for job, done in _in_order(todo, arriving):
        if done.error is not None or done.broken:
            bad.append(str(job.folder))
            exit_status = max(exit_status, OWN_FAULT if done.error is None else WRONG_INPUT)
        closures.append(done.record)
        if json_wanted:
            records.append(_record(job, done))
            continue
        for line in done.lines:
            click.echo(line)
        for line in _wrong(done, str(job.folder) if many else ""):
            click.echo(line, err=True)
    if many:
        told = _of_all(closures)
        for one in told:
            if not json_wanted:
                click.echo(f"{one['level']}: {one['text']}")
        for record in records:
            record.setdefault("cautions_of_series", told)
    if json_wanted:
        click.echo(as_json(records))
    elif bad and many:
        named = ", ".join(bad[:NAMED_AT_THE_END])
        more = f" and {len(bad) - NAMED_AT_THE_END} more" if len(bad) > NAMED_AT_THE_END else ""
        verb = "was" if len(bad) == 1 else "were"
        click.echo(f"{len(bad)} of {len(todo)} runs {verb} not worked up: {named}{more}", err=True)
    return exit_status


def _of_all(records: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """What the closures of all runs say together."""
    from cutbook.balance.by_difference import Closure, closures_by_difference
    from cutbook.reporting.cautions import in_order

    found = closures_by_difference(
        [
            Closure(record["run"], record["closure"]["value"], record["closure"]["u"] or 0.0)
            for record in records
            if record.get("closure")
        ]
    )
    worded = in_order([] if found is None else [found])
    return [{"code": one.code, "level": one.level, "text": one.text} for one in worded]


def _in_order(todo: Sequence[Job], arriving: Iterator[tuple[int, Done]]) -> Iterator[tuple[Job, Done]]:
    """What came early waits for those before it, so that the same command prints the same."""
    early: dict[int, Done] = {}
    due = 0
    for number, done in arriving:
        early[number] = done
        while due in early:
            yield todo[due], early.pop(due)
            due += 1


def _wrong(done: Done, where: str) -> list[str]:
    if done.error is not None:
        return fault_lines(done.error, where)
    if done.broken:
        told = f"a fault of the program: {done.broken}. Please report it; {TRACEBACK}=1 shows where it arose."
        return [f"{where}: {told}" if where else told]
    return []


def _record(job: Job, done: Done) -> dict[str, Any]:
    folder = {"folder": str(job.folder)}
    if done.error is not None:
        return folder | error_record(done.error)
    if done.broken:
        fault = {"code": "program", "file": None, "line": None, "message": done.broken, "hint": None}
        return folder | {"error": fault, "faults": [fault]}
    return done.record | folder  # on another machine the folder may have been called otherwise
