"""Turn errors into one line each and an exit status."""

from __future__ import annotations

import functools
import json
import os
import sys
from collections.abc import Callable
from typing import Any, TypeVar

import click

from cutbook.model.errors import CutbookError, Fault, InputError, printable

WRONG_INPUT = 1
OWN_FAULT = 3
TRACEBACK = "CUTBOOK_TRACEBACK"
"""Set this variable of the environment to see where in the program a fault arose."""

Command = TypeVar("Command", bound=Callable[..., Any])


def fault_lines(error: CutbookError, where: str = "") -> list[str]:
    """One line a fault, with the folder in front when there are several."""
    lines = [fault.line() for fault in error.faults] if isinstance(error, InputError) else [printable(error, 1000)]
    return [f"{printable(where)}: {line}" if where else line for line in lines]


def fault_record(fault: Fault) -> dict[str, Any]:
    """A fault as JSON."""
    return {
        "code": "input",
        "file": fault.file or None,
        "line": fault.place or None,
        "message": f"found {fault.found}; expected {fault.expected}",
        "hint": fault.do or None,
    }


def error_record(error: CutbookError) -> dict[str, Any]:
    """An error as JSON: the first fault, and all of them."""
    faults = [fault_record(fault) for fault in error.faults] if isinstance(error, InputError) else []
    first = (
        faults[0] if faults else {"code": "missing", "file": None, "line": None, "message": str(error), "hint": None}
    )
    return {"error": first, "faults": faults or [first]}


def as_json(record: Any) -> str:
    """JSON text without NaN."""
    return json.dumps(record, ensure_ascii=False, indent=2, allow_nan=False, default=str)


def guarded(command: Command) -> Command:
    """Run a command; on a wrong input print each fault on a line and leave with 1, on a fault of the program with 3."""

    @functools.wraps(command)
    def run(*args: Any, **options: Any) -> Any:
        try:
            return command(*args, **options)
        except CutbookError as error:
            if options.get("json_wanted"):
                click.echo(as_json(error_record(error)))
            else:
                for line in fault_lines(error):
                    click.echo(line, err=True)
            sys.exit(WRONG_INPUT)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except BrokenPipeError:
            sys.exit(0)
        except Exception as error:
            if os.environ.get(TRACEBACK):
                raise
            click.echo(
                f"cutbook: a fault of the program: {type(error).__name__}: {printable(error, 300)}. Please report it "
                f"with the command and, if you can, the files; {TRACEBACK}=1 shows where it arose.",
                err=True,
            )
            sys.exit(OWN_FAULT)

    return run  # type: ignore[return-value]
