"""What every importer of traces owes its users, tried on one file."""

import os

import numpy as np
import pytest

from cutbook.importers.recognise import read_scans, read_signal
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.errors import InputError
from cutbook.model.run import TraceEntry
from cutbook.model.trace import Trace


def entry(name, **more):
    return TraceEntry(file=name, place="[[trace]] 1", role="sample", **more)


def write(folder, name, content):
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return entry(name)


def read(folder, content, name="trace", **more):
    write(folder, name, content)
    return read_signal(folder, entry(name, **more))


def line_of(folder, content, name="trace", **more):
    """The one line with which a file is refused."""
    with pytest.raises(InputError) as refused:
        read(folder, content, name, **more)
    assert "\n" not in str(refused.value)
    return str(refused.value)


def scans_of(folder, content):
    """The scan series in a file."""
    write(folder, "run", content)
    return read_scans(folder, "run")


def scans_refused(folder, content):
    """The one line with which a file that should hold scans is refused."""
    with pytest.raises(InputError) as error:
        scans_of(folder, content)
    assert "\n" not in str(error.value)
    return str(error.value)


def assert_keeps_the_contract(importer, folder, content):
    """Assert the contract of one importer on a file that it must read."""
    one = write(folder, "contract", content)
    path = folder / "contract"
    os.utime(path, ns=(10**18, 10**18))
    file = open_trace_file(folder, "contract")
    assert importer.recognises(file.content[:4096])
    first, second = importer.read(file, one), importer.read(file, one)
    assert isinstance(first, Trace)
    assert path.read_bytes() == file.content
    assert path.stat().st_mtime_ns == 10**18
    assert not first.time_min.flags.writeable
    assert not first.signal.flags.writeable
    assert (np.diff(first.time_min) > 0).all()
    assert np.isfinite(first.signal).all()
    assert first.file == "contract"
    assert first.step.source.sha256 == file.sha256
    assert first.step.id == second.step.id
    assert np.array_equal(first.signal, second.signal)
    for foreign in (
        b"",
        b"\x00" * 200,
        b"\x89PNG\r\n",
        b"%PDF-1.7",
        file.content[: len(file.content) // 2],
        os.urandom(500),
    ):
        write(folder, "foreign", foreign or b"\x00")
        try:
            importer.read(open_trace_file(folder, "foreign"), entry("foreign"))
        except InputError as refused:
            assert "\n" not in str(refused)
