"""The command `cutbook`."""

from __future__ import annotations

import os
from importlib import import_module

import click

from cutbook import __version__

# The matrices of this work are small: threads of the linear algebra library cost more time than they give, most of all
# where runs are worked up side by side. Read when numpy is first imported, which is after this; what is set stays.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(name, "1")

COMMANDS = {
    "new": "Write a run folder with a commented run sheet; nothing is overwritten.",
    "check": "Read and validate everything in each run FOLDER; say what is wrong, doubtful or missing.",
    "workup": "Work up each run FOLDER into FOLDER/results: results.json, workbook, page, peaks.csv, figures.",
    "plan": "Plan the fractionation of a product of FOLDER: pressures, receivers, cuts, where compounds end up.",
    "cold": "What it does to the cold storage of a liquid of FOLDER to remove a cut or to blend another liquid in.",
    "explain": "Show where the number NAME of a run FOLDER comes from.",
    "reference": "Print a reference TABLE with its sources; without TABLE, the names of all.",
    "demo": "Write the example runs into FOLDER (cutbook-demo) and work them up.",
}
"""Each command, a module of its own name on this floor, with what it does: so that help imports none of them."""


class Commands(click.Group):
    """Imports a command when it is called, not before."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order in which they are used."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, None when there is none."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = getattr(import_module(f"cutbook.cli.{cmd_name}"), cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands in the help."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="cutbook")
def main() -> None:
    """Work up small-batch plastic pyrolysis runs: what was made, how sure that is, and where each number comes from.

    A run is a folder with a run sheet (run.toml) beside the instrument files. Begin with `cutbook new FOLDER`, or look
    at finished runs with `cutbook demo`.

    Exit status: 0 done, 1 the input is wrong, 2 the command was typed wrong, 3 a fault of the program.
    """
