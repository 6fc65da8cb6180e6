"""What kind of file it is, by its content."""

import types

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from importer_contract import assert_keeps_the_contract, entry, line_of, read
from jcamp_files import chromatogram
from scan_files import mzml, mzxml, some_scans
from test_andi import andi
from test_text_columns import table
from test_workbook_columns import book

from cutbook.importers import andi as andi_importer
from cutbook.importers import jcamp_dx as jcamp_dx_importer
from cutbook.importers import mzml as mzml_importer
from cutbook.importers import mzxml as mzxml_importer
from cutbook.importers import text_columns, workbook_columns
from cutbook.importers.recognise import IMPORTERS, read_trace
from cutbook.model.errors import InputError

SOME = some_scans(200)
GOOD = {
    andi_importer: andi(),
    mzml_importer: mzml(*SOME),
    mzxml_importer: mzxml(*SOME),
    jcamp_dx_importer: chromatogram().encode(),
    workbook_columns: book(),
    text_columns: table().encode(),
}


def test_every_importer_is_tried_here():
    assert set(IMPORTERS) == set(GOOD)


@pytest.mark.parametrize("importer", list(GOOD), ids=lambda one: one.__name__.rsplit(".", 1)[-1])
def test_importers_keep_their_contract(tmp_path, importer):
    assert_keeps_the_contract(importer, tmp_path, GOOD[importer])


def spoiled(**parts):
    """The importer of ANDI files with parts of it replaced."""
    return types.SimpleNamespace(**{"recognises": andi_importer.recognises, "read": andi_importer.read, **parts})


def writes(file, one):
    import pathlib

    trace = andi_importer.read(file, one)
    for path in pathlib.Path.cwd().glob("contract"):
        path.write_bytes(b"changed")
    return trace


def forgets(file, one):
    import dataclasses

    from cutbook.model.lineage import Step

    return dataclasses.replace(andi_importer.read(file, one), step=Step("read trace/1"))


def crashes(file, one):
    if one.file == "foreign":
        raise KeyError("x")
    return andi_importer.read(file, one)


@pytest.mark.parametrize(
    "bad", [{"read": writes}, {"read": forgets}, {"read": crashes}, {"recognises": lambda head: False}]
)
def test_the_contract_is_able_to_fail(tmp_path, monkeypatch, bad):
    monkeypatch.chdir(tmp_path)
    with pytest.raises((AssertionError, AttributeError, KeyError)):
        assert_keeps_the_contract(spoiled(**bad), tmp_path, GOOD[andi_importer])


@pytest.mark.parametrize("name", ["trace.csv", "trace.cdf", "trace", "trace.pdf"])
@pytest.mark.parametrize("importer", list(GOOD), ids=lambda one: one.__name__.rsplit(".", 1)[-1])
def test_the_name_of_a_file_does_not_matter(tmp_path, name, importer):
    assert len(read(tmp_path, GOOD[importer], name).signal) >= 200


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"%PDF-1.7\n%\xe2\xe3", "a PDF document"),
        (b"\x89HDF\r\n\x1a\n\x00\x00", "HDF5 or netCDF-4"),
        (b"BZh91AY&SY\x00", "a compressed file, not gzip"),
        (b"<html><body>", "a web page (HTML)"),
        (b"\x89PNG\r\n\x1a\n\x00", "a picture"),
    ],
)
def test_other_files_are_named_for_what_they_are(tmp_path, content, what):
    line = line_of(tmp_path, content)
    assert line.startswith(f"trace: found {what}")
    assert "expected ANDI/netCDF-3, mzML" in line


def test_an_empty_file_a_folder_and_a_missing_file_are_refused(tmp_path):
    assert line_of(tmp_path, b"") == "trace: found an empty file; expected a trace. Export it again"
    (tmp_path / "folder").mkdir()
    with pytest.raises(InputError, match="folder: found a folder; expected a file"):
        read_trace(tmp_path, entry("folder"))
    with pytest.raises(
        InputError, match="found no such file; expected a trace file in the run folder. Was trace meant"
    ):
        read_trace(tmp_path, entry("trase"))


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=400))
def test_no_bytes_do_worse_than_be_refused(tmp_path_factory, content):
    folder = tmp_path_factory.mktemp("fuzz")
    try:
        read(folder, content)
    except InputError as refused:
        assert "\n" not in str(refused)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_no_damage_to_a_good_file_does_worse_than_be_refused(tmp_path_factory, data):
    content = bytearray(GOOD[data.draw(st.sampled_from(list(GOOD)))])
    for _ in range(data.draw(st.integers(1, 5))):
        content[data.draw(st.integers(0, min(len(content) - 1, 1500)))] = data.draw(st.integers(0, 255))
    content = bytes(content[: data.draw(st.integers(1, len(content)))])
    try:
        trace = read(tmp_path_factory.mktemp("fuzz"), content)
    except InputError as refused:
        assert "\n" not in str(refused)
    else:
        assert np.isfinite(trace.signal).all()
