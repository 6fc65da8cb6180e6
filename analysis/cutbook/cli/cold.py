"""`cutbook cold`: what removing or blending a cut does to cold storage."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from cutbook.cli.faults import as_json, guarded


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--of", "of", default="", metavar="PRODUCT", help="Liquid in question; the oil otherwise.")
@click.option("--remove", default="", metavar="CUT", help="Take this cut by carbon number out, and all above it.")
@click.option("--above", type=click.IntRange(2, 60), metavar="N", help="Take out all from carbon number N on.")
@click.option("--blend", default="", metavar="PRODUCT", help="Blend this other liquid of the run in.")
@click.option("--share", metavar="PERCENT", help='Share of it in the blend ("20 %"); a row for every tenth otherwise.')
@click.option(
    "--below", metavar="TEMPERATURE", help='Wanted: first wax below this ("5 °C"); the least change is found.'
)
@click.option("--settings", type=click.Path(path_type=Path), help="Settings file in place of FOLDER/method.toml.")
@click.option("--decimal", type=click.Choice(["point", "comma"]), default="point", help="Decimal sign.")
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def cold(
    folder: Path,
    of: str,
    remove: str,
    above: int | None,
    blend: str,
    share: str | None,
    below: str | None,
    settings: Path | None,
    decimal: str,
    json_wanted: bool,
) -> None:
    """Show what the cold does to a liquid of FOLDER, and what it would do without its wax or blended with another.

    Temperatures are estimates at equilibrium, good to a few degrees; measure the cloud and pour point of what was made.
    """
    from cutbook.importers.run_sheet import read_run
    from cutbook.model.units import parse_quantity
    from cutbook.reporting.cold_words import change_lines
    from cutbook.reporting.numbers import OutputSettings
    from cutbook.workup.cold_changes import cold_changes
    from cutbook.workup.read_method import read_method
    from cutbook.workup.work_up import work_up

    if bool(remove or above is not None) and blend:
        raise click.UsageError("--remove or --above, or --blend: one at a time.")
    if remove and above is not None:
        raise click.UsageError("--remove or --above: one at a time.")
    wanted = None if below is None else parse_quantity(below, "temperature", "", "--below").value
    part = None if share is None else parse_quantity(share, "fraction", "", "--share").value
    findings = work_up(read_run(folder), read_method(folder, settings))
    changes = cold_changes(findings, of, remove, above, blend, part, wanted)
    if json_wanted:
        click.echo(as_json({"run": findings.run.id, "below": wanted, "mixtures": [asdict(one) for one in changes]}))
        return
    for line in change_lines(changes, wanted, OutputSettings("comma" if decimal == "comma" else "point")):
        click.echo(line)
