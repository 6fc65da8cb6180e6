"""The netCDF-3 reader against another one, and against headers that lie."""

import io
import struct
import tracemalloc
import warnings
from pathlib import Path

import numpy as np
import pytest
from scipy.io import netcdf_file

from cutbook.importers.netcdf3 import open_netcdf
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import InputError

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
SIGNAL = np.linspace(0.0, 1.0, 50)


def written(variables, version=1, grow=False, attributes=None, texts=()):
    """The bytes of a file; variables: (type, values) by name, growing by records where `grow`."""
    buffer = io.BytesIO()
    out = netcdf_file(buffer, "w", version=version)
    for name, value in (attributes or {}).items():
        setattr(out, name, value)
    length = len(next(iter(variables.values()))[1])
    out.createDimension("point_number", None if grow else length)
    for name, (kind, values) in variables.items():
        out.createVariable(name, kind, ("point_number",))[:] = values
    if len(texts):
        out.createDimension("rows", len(texts))
        out.createDimension("width", 16)
        cells = np.array([list(text.ljust(16, "\0")) for text in texts], dtype="S1")
        out.createVariable("peak_name", "c", ("rows", "width"))[:] = cells
    out.flush()
    content = buffer.getvalue()
    out.close()
    return content


def opened(content):
    return open_netcdf(TraceFile("trace.cdf", content, "0" * 64))


GOOD = written(
    {"ordinate_values": ("f", SIGNAL), "raw_data_retention": ("d", SIGNAL)},
    attributes={"detector_unit": "pA"},
    texts=("n-C8", ""),
)


def refusal(content):
    with pytest.raises(InputError) as caught:
        opened(content)
    return str(caught.value)


@pytest.mark.parametrize("version", [1, 2])
@pytest.mark.parametrize("grow", [False, True])
@pytest.mark.parametrize("kinds", ["f", "d", "h", "b", "hd", "bhi"])
def test_what_was_written_is_read(version, grow, kinds):
    values = np.arange(47) % 100
    ours = opened(written({f"v{n}": (kind, values + n) for n, kind in enumerate(kinds)}, version, grow))
    for n in range(len(kinds)):
        np.testing.assert_array_equal(ours.numbers(f"v{n}"), values + n)


def test_a_file_written_as_a_stream_has_as_many_records_as_fit():
    content = written({"a": ("f", SIGNAL), "b": ("d", SIGNAL)}, grow=True)
    streamed = opened(content[:4] + struct.pack(">i", -1) + content[8:])
    np.testing.assert_array_equal(streamed.numbers("b"), SIGNAL)


@pytest.mark.parametrize("name", ["chrom-netcdf/uv-channel.cdf", "ms-netcdf/ko15.CDF"])
def test_real_files_are_read_as_another_reader_reads_them(name):
    if not (DATA / name).exists():
        pytest.skip("the open data sets are not beside the project")
    ours = opened((DATA / name).read_bytes())
    with netcdf_file(DATA / name, "r", mmap=False) as theirs:
        assert set(ours.variables) == set(theirs.variables)
        for variable, their in theirs.variables.items():
            if their.typecode() != "c":
                np.testing.assert_array_equal(ours.numbers(variable), their.data)
        for attribute, value in theirs._attributes.items():
            if isinstance(value, bytes):
                assert ours.text(attribute) == value.decode("latin-1").strip()


def test_texts_end_at_their_first_zero_byte():
    assert opened(GOOD).texts("peak_name") == ["n-C8", ""]


def test_absent_and_unfit_variables_are_none():
    netcdf = opened(GOOD)
    assert netcdf.numbers("peak_area") is None
    assert netcdf.numbers("peak_name") is None
    assert netcdf.texts("ordinate_values") is None
    assert netcdf.text("no_such_attribute") == ""


def test_names_in_a_file_are_only_names():
    # a reader that keeps attributes of the file among its own breaks on this one
    content = written({"a": ("f", SIGNAL)}, attributes={"modx": "w"}).replace(b"modx", b"mode")
    assert opened(content).text("mode") == "w"


def test_a_header_that_declares_gigabytes_is_refused_without_allocating_them():
    place = GOOD.index(b"point_number") + len("point_number")
    hostile = GOOD[:place] + struct.pack(">i", 2**31 - 1) + GOOD[place + 4 :]
    tracemalloc.start()
    try:
        line = refusal(hostile)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert line == (
        f"trace.cdf, header: found 2147483647 values of 'ordinate_values' beyond the {len(GOOD)} bytes present; expected"
        " a complete netCDF-3 file. Was the file cut short or changed? Copy or export it again"
    )
    assert peak < 1_000_000


def test_a_list_of_a_million_entries_is_refused_at_once():
    hostile = b"CDF\x01" + struct.pack(">iii", 0, 10, 1_000_000) + bytes(8_000_000)
    assert "found a list of 1000000 entries at byte 12" in refusal(hostile)


def test_a_file_cut_anywhere_is_refused():
    # the last two bytes may be padding, which some writers leave out
    for length in range(4, len(GOOD) - 2):
        assert refusal(GOOD[:length]).count("\n") == 0


def test_every_flipped_bit_of_the_header_is_survived():
    header = GOOD.index(struct.pack(">f", SIGNAL[1])) - 4
    refused = 0
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for place in range(4, header):
            for bit in range(8):
                flipped = bytearray(GOOD)
                flipped[place] ^= 1 << bit
                try:
                    netcdf = opened(bytes(flipped))
                except InputError:
                    refused += 1
                    continue
                for name in netcdf.variables:
                    numbers, texts = netcdf.numbers(name), netcdf.texts(name)
                    # never more than the file holds, whatever its header declares
                    assert numbers is None or numbers.size <= len(GOOD)
                    assert texts is None or sum(map(len, texts)) <= len(GOOD)
    assert 0 < refused < 8 * (header - 4)
