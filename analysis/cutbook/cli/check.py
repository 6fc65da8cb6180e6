"""`cutbook check`: read and judge everything, write nothing."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from cutbook.cli.faults import WRONG_INPUT, as_json, error_record, fault_lines, guarded


@click.command()
@click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FOLDER…")
@click.option("--settings", type=click.Path(path_type=Path), help="Settings file in place of FOLDER/method.toml.")
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def check(folders: tuple[Path, ...], settings: Path | None, json_wanted: bool) -> None:
    """Read and validate everything in each run FOLDER; say what is wrong, doubtful or missing. Nothing is written."""
    from cutbook.model.errors import CutbookError

    reports, failed = [], False
    for folder in folders:
        try:
            reports.append(_check_one(folder, settings))
        except CutbookError as error:
            failed = True
            reports.append({"folder": str(folder), **error_record(error)})
            if not json_wanted:
                for line in fault_lines(error, str(folder) if len(folders) > 1 else ""):
                    click.echo(line, err=True)
            continue
        if not json_wanted:
            _print(reports[-1])
    if json_wanted:
        click.echo(as_json(reports))
    if failed:
        sys.exit(WRONG_INPUT)


def _check_one(folder: Path, settings: Path | None) -> dict[str, Any]:
    from cutbook.importers.run_sheet import read_run
    from cutbook.reporting.cautions import in_order
    from cutbook.reporting.readiness_words import readiness_lines
    from cutbook.workup.read_method import read_method
    from cutbook.workup.work_up import work_up

    run = read_run(folder)
    findings = work_up(run, read_method(folder, settings))
    return {
        "folder": str(folder),
        "run": run.id,
        "files": [{"path": one.source.path, "role": one.role, "of": one.of} for one in findings.inputs],
        "cautions": [
            {"level": one.level, "code": one.code, "about": one.about, "text": one.text}
            for one in in_order(findings.cautions)
        ],
        "one_more": list(readiness_lines(run)),
    }


def _print(report: dict[str, Any]) -> None:
    click.echo(f"{report['folder']}: run {report['run']}, {len(report['files'])} files read, nothing wrong")
    for one in report["cautions"]:
        click.echo(f"  {one['level']}: {one['text']}")
    if report["one_more"]:
        click.echo("  One more entry would give more:")
        for line in report["one_more"]:
            click.echo(f"    {line}")
