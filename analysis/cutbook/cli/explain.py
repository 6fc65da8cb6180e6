"""`cutbook explain`: where a reported number comes from."""

from __future__ import annotations

from pathlib import Path

import click

from cutbook.cli.faults import as_json, guarded


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("name", required=False)
@click.option("--settings", type=click.Path(path_type=Path), help="Settings file in place of FOLDER/method.toml.")
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def explain(folder: Path, name: str | None, settings: Path | None, json_wanted: bool) -> None:
    """Show where the number NAME of a run FOLDER comes from: value, uncertainty budget, steps, files and hashes.

    NAME is as in results.json, for example cuts.carbon-number.gasoline.yield; without NAME all names are listed.
    """
    from cutbook.importers.run_sheet import read_run
    from cutbook.reporting.explanation import explain as explained
    from cutbook.reporting.explanation import explanation
    from cutbook.reporting.numbers import with_uncertainty
    from cutbook.workup.read_method import read_method
    from cutbook.workup.work_up import work_up

    findings = work_up(read_run(folder), read_method(folder, settings))
    if name is None:
        named = findings.named()
        if json_wanted:
            click.echo(as_json({key: {"value": one.value, "u": one.u, "unit": one.unit} for key, one in named.items()}))
            return
        for key, result in named.items():
            click.echo(f"{key}  {with_uncertainty(result)}")
        return
    click.echo(as_json(explanation(findings, name)) if json_wanted else explained(findings, name))
