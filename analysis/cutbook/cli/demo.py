"""`cutbook demo`: write the example runs and work them up."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cutbook.cli.faults import WRONG_INPUT, fault_lines, guarded
from cutbook.cli.workup import Job, work_up_folder


@click.command()
@click.argument("folder", required=False, default="cutbook-demo", type=click.Path(path_type=Path))
@guarded
def demo(folder: Path) -> None:
    """Write the example runs into FOLDER (cutbook-demo) and work them up; runs that are there already are kept."""
    from cutbook.importers.example_runs import write_examples

    failed = False
    for run in write_examples(folder):
        done = work_up_folder(Job(run, run / "results", None, "point", False))
        for line in done.lines:
            click.echo(line)
        if done.error is not None:
            failed = True
            for line in fault_lines(done.error, str(run)):
                click.echo(line, err=True)
    if failed:
        sys.exit(WRONG_INPUT)
