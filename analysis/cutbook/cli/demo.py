"""`cutbook demo`: write the example runs and work them up."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from cutbook.cli.faults import guarded
from cutbook.cli.job import Job
from cutbook.cli.workup import arrivals, tell

SIDE_BY_SIDE = 2
"""Three small runs gain nothing from more processes."""


@click.command()
@click.argument("folder", required=False, default="cutbook-demo", type=click.Path(path_type=Path))
@guarded
def demo(folder: Path) -> None:
    """Write the example runs into FOLDER (cutbook-demo) and work them up; runs that are there already are kept."""
    from cutbook.importers.example_runs import write_examples

    todo = [Job(run, run / "results") for run in write_examples(folder)]
    sys.exit(tell(todo, arrivals(todo, min(SIDE_BY_SIDE, os.cpu_count() or 1))))
