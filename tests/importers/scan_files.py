"""Files of mass spectra in each open format, written plainly by the rules of the format; some from the generator."""

import base64
import gzip
import zlib

import numpy as np
from scan_writers import andi_ms, mzml, mzml_array

__all__ = ["andi_ms", "assert_same", "mzml", "mzml_array", "mzxml", "some_scans", "zipped"]


def some_scans(count=150, seed=3):
    """Times in min and (m/z, intensity) of scans; the total rises to a peak in the middle; one scan is empty."""
    rng = np.random.default_rng(seed)
    times = 2.0 + np.arange(count) / 120.0
    height = 50 + 400 * np.exp(-0.5 * ((np.arange(count) - count / 2) / 5.0) ** 2)
    scans = []
    for number in range(count):
        mz = np.sort(rng.choice(np.arange(35, 300), 20, replace=False)) + 0.1
        scans.append((mz, np.round(rng.uniform(0.5, 1.0, 20) * height[number])))
    scans[7] = (np.empty(0), np.empty(0))
    return times, scans


def mzxml(times, scans, bits=32, zipped=True, level=None, centroided="1", minutes=False, nested=False):
    """The bytes of an mzXML file; `nested` puts a scan of fragments inside every tenth scan."""
    parts = []
    for number, (time, (mz, intensity)) in enumerate(zip(times, scans, strict=True)):
        raw = np.column_stack([mz, intensity]).astype(f">f{bits // 8}").tobytes()
        text = base64.b64encode(zlib.compress(raw) if zipped else raw).decode() if len(mz) else ""
        when = f"PT{int(time)}M{60 * (time - int(time)):.6f}S" if minutes else f"PT{60 * time:.6f}S"
        inside = f'<scan num="9{number}" msLevel="2" peaksCount="0" retentionTime="{when}"/>'
        parts.append(
            f'<scan num="{number + 1}" msLevel="{level[number] if level else 1}" peaksCount="{len(mz)}" '
            f'centroided="{centroided}" retentionTime="{when}" totIonCurrent="{np.sum(intensity):g}"><peaks '
            f'precision="{bits}" byteOrder="network" contentType="m/z-int" compressionType="{"zlib" if zipped else "none"}">'
            f"{text}</peaks>{inside if nested and number % 10 == 0 else ''}</scan>"
        )
    return (
        '<?xml version="1.0" encoding="ISO-8859-1"?>\n<mzXML xmlns="http://sashimi.sourceforge.net/schema_revision/mzXML_3.2">'
        f'<msRun scanCount="{len(parts)}">{"".join(parts)}</msRun></mzXML>'
    ).encode()


def assert_same(series, times, scans, rel=1e-6):
    """Assert that a series holds the scans, m/z rising."""
    import pytest

    assert series.time_min == pytest.approx(times, abs=1e-6)
    assert len(series) == len(scans)
    for number, (mz, intensity) in enumerate(scans):
        order = np.argsort(mz)
        found = series.scan(number)
        assert found[0] == pytest.approx(np.asarray(mz)[order], rel=rel)
        assert found[1] == pytest.approx(np.asarray(intensity)[order], rel=rel)


def zipped(content):
    return gzip.compress(content, mtime=0)
