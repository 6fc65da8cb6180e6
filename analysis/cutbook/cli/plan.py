"""`cutbook plan`: plan the fractionation of a product."""

from __future__ import annotations

from pathlib import Path

import click

from cutbook.cli.faults import as_json, guarded
from cutbook.cli.progress import status


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--cuts", required=True, metavar="NAME,…", help="Cuts to be kept, by their names in the scheme.")
@click.option("--scheme", default="", help="Scheme by boiling range; that of method.toml otherwise.")
@click.option("--product", default="", help="Product to be distilled; the oil otherwise.")
@click.option("--charge", metavar="MASS", help='What is put into the pot ("250 g"); all of the product otherwise.')
@click.option("--plates", type=int, default=5, show_default=True, help="Theoretical plates above the pot; 0: none.")
@click.option("--reflux", type=float, default=3.0, show_default=True, help="Reflux ratio: returned over taken off.")
@click.option("--pressure", default="101.325 kPa", show_default=True, help="At the head, to begin with; absolute.")
@click.option("--pressure-drop", default="0 kPa", show_default=True, help="Over one plate.")
@click.option("--lowest-pressure", default="0.1 kPa", show_default=True, help="The best vacuum at hand.")
@click.option("--pot-limit", default="340 °C", show_default=True, help="The pot is kept below it.")
@click.option("--hold-up", default="0 %", show_default=True, help="On all plates, of the charge by moles.")
@click.option("--compound", "compounds", multiple=True, metavar="NAME[=SHARE]",
              help='A compound to follow, with its share of the charge where known ("chlorobenzene=0.2 %"). '
                   "May be repeated.")  # fmt: skip
@click.option("--settings", type=click.Path(path_type=Path), help="Settings file in place of FOLDER/method.toml.")
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR", help="Folder of the plan; FOLDER/plan otherwise."
)
@click.option("--decimal", type=click.Choice(["point", "comma"]), default="point", show_default=True,
              help="Decimal sign in table, figure and on the terminal.")  # fmt: skip
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def plan(
    folder: Path,
    cuts: str,
    scheme: str,
    product: str,
    charge: str | None,
    plates: int,
    reflux: float,
    pressure: str,
    pressure_drop: str,
    lowest_pressure: str,
    pot_limit: str,
    hold_up: str,
    compounds: tuple[str, ...],
    settings: Path | None,
    out: Path | None,
    decimal: str,
    json_wanted: bool,
) -> None:
    """Plan the fractionation of a product of FOLDER: FOLDER/plan with plan.json, plan.csv, figures/plan.svg.

    From its boiling curve: head and pot temperature, when to change receivers, at which pressure so that the pot stays
    below its limit, what each cut will hold, and in which cut a compound ends up. A plan is a calculation, not a permit
    to distil.
    """
    from cutbook.fractions.staged_still import StagedSettings
    from cutbook.fractions.still_plan import PlanSettings
    from cutbook.importers.run_sheet import read_run
    from cutbook.model.units import parse_quantity
    from cutbook.reporting.numbers import OutputSettings
    from cutbook.reporting.plan_json import plan_record
    from cutbook.reporting.plan_publish import publish_plan
    from cutbook.reporting.plan_words import plan_lines
    from cutbook.workup.plan_run import PlanRequest, named_compounds, plan_run
    from cutbook.workup.read_method import read_method
    from cutbook.workup.work_up import work_up

    def value(text: str, dimension: str, option: str) -> float:
        return parse_quantity(text, dimension, "", option).value

    wanted = PlanRequest(
        cuts=tuple(name.strip() for name in cuts.split(",") if name.strip()),
        scheme=scheme,
        product=product,
        charge=None if charge is None else parse_quantity(charge, "mass", "", "--charge"),
        compounds=named_compounds(compounds),
        settings=PlanSettings(
            plates=plates,
            reflux=reflux,
            pressure_kpa=value(pressure, "pressure", "--pressure"),
            drop_kpa=value(pressure_drop, "pressure", "--pressure-drop"),
            hold_up=value(hold_up, "fraction", "--hold-up"),
            staged=StagedSettings(
                value(pot_limit, "temperature", "--pot-limit"),
                value(lowest_pressure, "pressure", "--lowest-pressure"),
            ),
        ),
    )
    run, method = read_run(folder), read_method(folder, settings)
    with status(str(folder)) as told:
        found = plan_run(work_up(run, method, told), wanted)
        output = OutputSettings("comma" if decimal == "comma" else "point")
        files = publish_plan(found, run, out or folder / "plan", output)
    if json_wanted:
        click.echo(
            as_json({"folder": str(folder), **plan_record(found, run.id), "files": list(map(str, files.values()))})
        )
        return
    for line in plan_lines(found, run.id, output):
        click.echo(line)
    for path in files.values():
        click.echo(f"  {path}")
