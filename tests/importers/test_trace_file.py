"""Opening a trace file: once, whole, and only when it is one."""

import hashlib
import os

import pytest

from cutbook.importers.trace_file import MAX_MIB, open_trace_file
from cutbook.model.errors import TraceError


def refusal(folder, name):
    with pytest.raises(TraceError) as caught:
        open_trace_file(folder, name)
    return str(caught.value)


def test_the_hash_is_of_the_bytes_that_were_read(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"1;2\n")
    file = open_trace_file(tmp_path, "a.csv")
    assert (file.name, file.content, file.sha256) == ("a.csv", b"1;2\n", hashlib.sha256(b"1;2\n").hexdigest())


def test_a_file_that_grows_while_it_is_read_is_refused(tmp_path, monkeypatch):
    path = tmp_path / "a.csv"
    path.write_bytes(b"1;2\n")
    fstat, calls = os.fstat, []

    def growing(handle):
        calls.append(handle)
        if len(calls) == 2:
            with path.open("ab") as export:
                export.write(b"3;4\n")
        return fstat(handle)

    monkeypatch.setattr("cutbook.importers.trace_file.os.fstat", growing)
    assert refusal(tmp_path, "a.csv") == (
        "a.csv: found a file that changed while it was read; expected a finished file. Wait for the export to end"
    )


def test_a_file_too_large_is_refused_unread(tmp_path):
    with (tmp_path / "a.csv").open("wb") as handle:
        handle.truncate((MAX_MIB + 1) * 2**20)  # sparse: takes no room on the disk
    assert refusal(tmp_path, "a.csv") == "a.csv: found 513 MiB; expected at most 512 MiB. Export this one signal alone"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_without_waiting_for_it(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert refusal(tmp_path, "pipe") == "pipe: found a pipe or a device; expected an ordinary file"


@pytest.mark.parametrize("name", ["a\0b", "a" * 5000, "a.csv/b"])
def test_names_that_cannot_be_files_are_refused_in_one_line(tmp_path, name):
    (tmp_path / "a.csv").write_bytes(b"1")
    line = refusal(tmp_path, name)
    assert line.isprintable()
    assert len(line) < 500


def test_a_missing_file_is_refused_with_the_nearest_name(tmp_path):
    (tmp_path / "oil-fid.csv").write_bytes(b"1")
    assert refusal(tmp_path, "oil_fid.csv") == (
        "oil_fid.csv: found no such file; expected a trace file in the run folder. Was oil-fid.csv meant?"
    )
