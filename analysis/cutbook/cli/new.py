"""`cutbook new`: write a run folder with a commented run sheet."""

from __future__ import annotations

from pathlib import Path

import click

from cutbook.cli.faults import guarded


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@guarded
def new(folder: Path) -> None:
    """Write a run folder with a commented run sheet; nothing is overwritten."""
    from cutbook.importers.new_run import new_run

    sheet = new_run(folder)
    click.echo(f"{sheet}: fill it in, put the instrument files beside it, then: cutbook check {folder}")
