"""Say what is going on while it goes on, on a terminal and nowhere else."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

One = TypeVar("One")


@contextmanager
def status(about: str) -> Iterator[Callable[[str], None] | None]:
    """A line that tells which piece of work is at hand; gives the function that changes it, None off a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.markup import escape

    with Console(stderr=True).status(escape(about)) as line:
        yield lambda what: line.update(escape(f"{about}: {what}"))


def counted(arrivals: Iterator[One], total: int) -> Iterator[One]:
    """Pass on what arrives, with one line that counts it and tells the time left.

    The line is taken away while the receiver has the word, so that what it prints stands undisturbed.
    """
    if not sys.stderr.isatty():
        yield from arrivals
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    line = Progress(
        TextColumn("{task.completed} of {task.total} runs"),
        BarColumn(),
        TimeRemainingColumn(),
        TextColumn("left"),
        console=Console(stderr=True),
        transient=True,
        redirect_stdout=False,
        redirect_stderr=False,
        speed_estimate_period=3600,  # a run takes seconds to minutes, not milliseconds
    )
    task = line.add_task("", total=total)
    line.start()
    try:
        for arrival in arrivals:
            line.advance(task)
            line.stop()
            yield arrival
            line.start()
    finally:
        line.stop()
