"""`cutbook check`: read and judge everything, write nothing."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from cutbook.cli.faults import WRONG_INPUT, as_json, error_record, fault_lines, guarded


@click.command()
@click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FOLDER|FILE…")
@click.option("--settings", type=click.Path(path_type=Path), help="Settings file in place of FOLDER/method.toml.")
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def check(folders: tuple[Path, ...], settings: Path | None, json_wanted: bool) -> None:
    """Read and validate everything in each run FOLDER; say what is wrong, doubtful or missing. Nothing is written.

    Of a lone FILE from an instrument: what it is, what is in it, and what it can be used for.
    """
    from cutbook.model.errors import CutbookError

    reports, failed = [], False
    for folder in folders:
        try:
            alone = _is_lone_file(folder)
            reports.append(_look_into(folder) if alone else _check_one(folder, settings))
        except CutbookError as error:
            failed = True
            reports.append({"folder": str(folder), **error_record(error)})
            if not json_wanted:
                for line in fault_lines(error, str(folder) if len(folders) > 1 else ""):
                    click.echo(line, err=True)
            continue
        if not json_wanted:
            for line in reports[-1].pop("lines") if alone else _lines(reports[-1]):
                click.echo(line)
        reports[-1].pop("lines", None)
    if json_wanted:
        click.echo(as_json(reports))
    if failed:
        sys.exit(WRONG_INPUT)


def _is_lone_file(path: Path) -> bool:
    """Whether a path is a file from an instrument, not a run folder; neither is refused."""
    from cutbook.importers.run_sheet import RUN_SHEET
    from cutbook.model.errors import InputError

    expected, do = "a run folder or a file from an instrument", ""
    if path.is_dir():
        return False
    if path.is_file() and path.name != RUN_SHEET:
        return True
    found = "neither a file nor a folder" if path.exists() else "no such file or folder"
    if path.name == RUN_SHEET and path.is_file():
        found, do = "a run sheet", f"Check its folder: cutbook check {path.parent}"
    elif not path.exists() and not path.suffix:
        do = f"`cutbook new {path.name}` writes a run folder."
    raise InputError.single(str(path), "", found, expected, do)


def _look_into(file: Path) -> dict[str, Any]:
    from cutbook.gas.substances import component_named, substances
    from cutbook.importers.file_contents import look_into
    from cutbook.reporting.contents_words import contents_lines, contents_record

    contents = look_into(file, component_named, tuple(substances()))
    return {**contents_record(contents), "file": str(file), "lines": contents_lines(contents)}


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


def _lines(report: dict[str, Any]) -> Iterator[str]:
    yield f"{report['folder']}: run {report['run']}, {len(report['files'])} files read, nothing wrong"
    for one in report["cautions"]:
        yield f"  {one['level']}: {one['text']}"
    if report["one_more"]:
        yield "  One more entry would give more:"
        for line in report["one_more"]:
            yield f"    {line}"
