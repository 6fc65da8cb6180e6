"""Work up many runs on the workers of a Dask scheduler."""

from __future__ import annotations

import asyncio
import logging
import re
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from cutbook.cli.batch import IN_HAND, attempt, given_out
from cutbook.cli.job import Done, Job
from cutbook.model.errors import InputError, MissingExtraError

ANSWER_S = 6
"""A scheduler that is there answers at once; one that is not must not keep anybody waiting."""
RETRIES = 3
"""So often a job is given out again when what a worker answers is no answer."""


def on_cluster(todo: Sequence[Job], address: str) -> Iterator[tuple[int, Done]]:
    """Work up jobs on the workers of a scheduler.

    The folders must lie where the workers find them by the same name, and the workers must have this very program
    installed. A job whose worker dies is given to another.

    Parameters
    ----------
    todo : jobs.
    address : of the scheduler, such as "tcp://192.168.1.20:8786".

    Yields
    ------
    int, Done
        Number of the job and what came of it, in the order in which they end.

    Raises
    ------
    MissingExtraError
        When Dask is not installed.
    InputError
        When the address cannot be one, or nobody answers there.
    """
    if re.fullmatch(r"(tcp|tls)://(\[[0-9A-Fa-f:.]+\]|[^\s/:\[\]]+):\d{1,5}", address) is None:
        raise _wrong(address, "no address of a scheduler")
    try:
        import distributed
        from distributed.scheduler import KilledWorker
    except ImportError as error:
        raise MissingExtraError("--cluster needs Dask: pip install 'cutbook[cluster]'") from error
    from cutbook.reporting.made_from import program

    for name in ("distributed", "distributed.client"):  # what matters is told in the program's own words
        logging.getLogger(name).setLevel(logging.CRITICAL)
    if not asyncio.run(_is_scheduler(address)):
        raise _wrong(address, "no scheduler that answers")
    connect: Any = distributed.Client
    try:
        client = connect(address, timeout=ANSWER_S, set_as_default=False)
    except OSError as error:
        raise _wrong(address, "a scheduler that does not take work") from error
    with client:
        try:
            client.wait_for_workers(1, timeout=ANSWER_S)
        except (OSError, distributed.TimeoutError) as error:
            raise _wrong(address, "a scheduler without workers") from error
        cores = max(1, sum(client.nthreads().values()))
        executor = client.get_executor(pure=False, retries=RETRIES)
        left = {number: job.anywhere() for number, job in enumerate(todo)}
        submit = partial(executor.submit, on_worker, expected=program())
        yield from given_out(left, submit, cores * IN_HAND, lethal=KilledWorker)


async def _is_scheduler(address: str) -> bool:
    """Ask who is there before a client is made: whatever else listens at an address may answer anything."""
    from distributed import rpc

    ask: Any = rpc
    try:
        async with ask(address) as remote:
            answer = await asyncio.wait_for(remote.identity(), ANSWER_S)
    except Exception:
        return False
    return isinstance(answer, dict) and answer.get("type") == "Scheduler"


def on_worker(job: Job, expected: str) -> Done:
    """Work up a job on a worker, provided that the worker has the program that gave it out."""
    from cutbook.reporting.made_from import program

    if program() != expected:
        found = "another version of cutbook, or of what it calculates with, on a worker"
        return Done(error=InputError.single("", "", found, "the same as here", "Install the same on every worker."))
    return attempt(job)


def _wrong(address: str, found: str) -> InputError:
    return InputError.single(
        address, "--cluster", found, "the address of a running Dask scheduler with workers, such as tcp://host:8786"
    )
