"""`cutbook reference`: print what the program takes as known, with its sources."""

from __future__ import annotations

import click

from cutbook.cli.faults import as_json, guarded


@click.command()
@click.argument("table", required=False)
@click.option("--json", "json_wanted", is_flag=True, help="Machine-readable output.")
@guarded
def reference(table: str | None, json_wanted: bool) -> None:
    """Print a reference TABLE with its source; without TABLE the list of tables."""
    from cutbook.model.tables import reference as opened
    from cutbook.model.tables import table_names

    if table is None:
        titles = {name: str(opened(name).about.get("title", "")) for name in table_names()}
        if json_wanted:
            click.echo(as_json(titles))
            return
        width = max(map(len, titles))
        for name, title in titles.items():
            click.echo(f"{name:<{width}}  {title}")
        return
    found = opened(table)
    if json_wanted:
        click.echo(as_json({"name": found.name, "about": dict(found.about), "rows": [dict(row) for row in found.rows]}))
        return
    for key in ("title", "source", "conditions", "checked"):
        if found.about.get(key):
            click.echo(f"{key}: {found.about[key]}")
    columns = list(found.rows[0])
    units = found.about.get("columns", {})
    heads = [_head(column, str(units.get(column, {}).get("unit", "1"))) for column in columns]
    widths = [
        max(len(head), *(len(row[column]) for row in found.rows)) for head, column in zip(heads, columns, strict=True)
    ]
    click.echo()
    for cells in (heads, *([row[column] for column in columns] for row in found.rows)):
        click.echo("  ".join(f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip())


def _head(column: str, unit: str) -> str:
    return column if unit in ("", "1") else f"{column} ({unit})"
