"""Work up many runs, side by side where wanted; one that goes wrong, or kills its process, costs only itself."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, wait
from contextlib import suppress
from typing import TYPE_CHECKING

from cutbook.cli.faults import TRACEBACK
from cutbook.cli.job import Done, Job, work_up_folder
from cutbook.model.errors import InputError, printable

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

Submit = Callable[[Job], "Future[Done]"]
IN_HAND = 2
"""Jobs given out per process: one that is worked at and one that waits, so that no process is idle."""


def one_by_one(todo: Sequence[Job]) -> Iterator[tuple[int, Done]]:
    """Work up each job in this process.

    Yields
    ------
    int, Done
        Number of the job and what came of it.
    """
    for number, job in enumerate(todo):
        yield number, attempt(job)


def side_by_side(todo: Sequence[Job], jobs: int) -> Iterator[tuple[int, Done]]:
    """Work up jobs in so many processes, each begun anew, so that the same happens on every system.

    When a process dies, all jobs that were given out are worked up again, each alone in a process of its own:
    the one that killed it shows itself, the others are done.

    Yields
    ------
    int, Done
        Number of the job and what came of it, in the order in which they end.
    """
    left = dict(enumerate(todo))
    while left:
        lost = yield from _while_they_live(left, min(jobs, len(left)))
        for number, job in lost.items():
            yield number, _alone(job)


def given_out(
    left: dict[int, Job], submit: Submit, at_once: int, lethal: type[Exception] | tuple[()] = ()
) -> Generator[tuple[int, Done], None, dict[int, Job]]:
    """Give jobs out, a few at once, until all are done or the processes have died.

    Parameters
    ----------
    left : jobs by number; each is taken out as it is given out.
    submit : gives one job out.
    at_once : so many are given out at any time, so that hundreds of runs need no more memory than a few.
    lethal : the exception that tells that every process that took a job has died.

    Yields
    ------
    int, Done
        Number of the job and what came of it, in the order in which they end.

    Returns
    -------
    dict
        Jobs that were given out to processes that died.
    """
    from concurrent.futures.process import BrokenProcessPool

    out: dict[Future[Done], tuple[int, Job]] = {}
    lost: dict[int, Job] = {}
    try:
        while out or (left and not lost):
            while left and not lost and len(out) < at_once:
                number = next(iter(left))
                job = left.pop(number)
                try:
                    out[submit(job)] = number, job
                except BrokenProcessPool:
                    lost[number] = job
            for future in wait(out, return_when=FIRST_COMPLETED).done:
                number, job = out.pop(future)
                try:
                    done = future.result()
                except BrokenProcessPool:
                    lost[number] = job
                except CancelledError:  # those who had it are gone, and whoever gave it out does not give it out again
                    yield number, Done(error=_gone())
                except lethal:
                    yield number, Done(error=_died())
                except Exception as error:  # what a worker could not even begin, or could not send back
                    yield number, Done(broken=_in_words(error))
                else:
                    yield number, done
    finally:
        for future in out:
            future.cancel()
    return lost


def attempt(job: Job, told: Callable[[str], None] | None = None) -> Done:
    """Work up one of many: a fault of the program, too, is told and costs only this run."""
    try:
        return work_up_folder(job, told)
    except Exception as error:
        if os.environ.get(TRACEBACK):
            raise
        return Done(broken=_in_words(error))


def _while_they_live(left: dict[int, Job], jobs: int) -> Generator[tuple[int, Done], None, dict[int, Job]]:
    with _processes(jobs) as pool:
        return (yield from given_out(left, lambda job: pool.submit(attempt, job), jobs * IN_HAND))


def _alone(job: Job) -> Done:
    from concurrent.futures.process import BrokenProcessPool

    with _processes(1) as pool:
        try:
            return pool.submit(attempt, job).result()
        except BrokenProcessPool:
            return Done(error=_died())


def _processes(number: int) -> ProcessPoolExecutor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    return ProcessPoolExecutor(number, mp_context=get_context("spawn"), initializer=_begin)


def _begin() -> None:
    """Prepare a worker: Ctrl-C is the parent's to obey, and a worker does not outlive its parent."""
    import multiprocessing
    from multiprocessing.connection import wait as wait_for
    from threading import Thread

    with suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def leave_with_parent() -> None:
        wait_for([parent.sentinel])
        os._exit(1)

    Thread(target=leave_with_parent, daemon=True).start()


def _died() -> InputError:
    return InputError.single(
        "", "", "that the process working it up dies, time and again", "a run that a process can finish",
        "Is there memory enough? See how large its traces are, and work it up alone.",
    )  # fmt: skip


def _gone() -> InputError:
    return InputError.single(
        "", "", "that the scheduler is gone", "one that stays until all is done", "Start it and work up again."
    )


def _in_words(error: Exception) -> str:
    return f"{type(error).__name__}: {printable(error, 300)}"
