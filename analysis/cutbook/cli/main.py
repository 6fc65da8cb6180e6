"""The command `cutbook`."""

from __future__ import annotations

import click

from cutbook import __version__
from cutbook.cli.check import check
from cutbook.cli.demo import demo
from cutbook.cli.explain import explain
from cutbook.cli.new import new
from cutbook.cli.reference import reference
from cutbook.cli.workup import workup


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="cutbook")
def main() -> None:
    """Work up small-batch plastic pyrolysis runs: what was made, how sure that is, and where each number comes from.

    A run is a folder with a run sheet (run.toml) beside the instrument files. Begin with `cutbook new FOLDER`, or look
    at finished runs with `cutbook demo`.

    Exit status: 0 done, 1 the input is wrong, 2 the command was typed wrong, 3 a fault of the program.
    """


for command in (new, check, workup, explain, reference, demo):
    main.add_command(command)
