"""Files of mass spectra in each open format, written plainly by the rules of the format."""

import base64
import gzip
import io
import zlib

import numpy as np
from scipy.io import netcdf_file


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


NAMES = {
    "MS:1000521": "32-bit float",
    "MS:1000523": "64-bit float",
    "MS:1000519": "32-bit integer",
    "MS:1000522": "64-bit integer",
    "MS:1000574": "zlib compression",
    "MS:1000576": "no compression",
    "MS:1000514": "m/z array",
    "MS:1000515": "intensity array",
    "MS:1000595": "time array",
}


def mzml_array(values, term, bits=64, zipped=True, extra=""):
    kind = {32: "<f4", 64: "<f8", "i32": "<i4", "i64": "<i8"}[bits]
    accession = {32: "MS:1000521", 64: "MS:1000523", "i32": "MS:1000519", "i64": "MS:1000522"}[bits]
    raw = np.asarray(values).astype(kind).tobytes()
    text = base64.b64encode(zlib.compress(raw) if zipped else raw).decode()
    packing = "MS:1000574" if zipped else "MS:1000576"
    return (
        f'<binaryDataArray encodedLength="{len(text)}">{extra}<cvParam cvRef="MS" accession="{accession}" name="{NAMES[accession]}"/>'
        f'<cvParam cvRef="MS" accession="{packing}" name="{NAMES[packing]}"/><cvParam cvRef="MS" accession="{term}" name="{NAMES[term]}" '
        f'unitAccession="UO:0000031"/><binary>{text}</binary></binaryDataArray>'
    )


def mzml(times, scans, bits=64, zipped=True, seconds=False, level=None, kind="MS:1000127", total=True, group=False,
         chromatogram=True, index=False, spectra=True, prolog="", space=""):  # fmt: skip
    """The bytes of an mzML file. level : of each scan. group : whether level and kind stand in a shared group."""
    unit = ("UO:0000010", 60.0) if seconds else ("UO:0000031", 1.0)
    shared = (
        '<referenceableParamGroupList count="1"><referenceableParamGroup id="common"><cvParam cvRef="MS" '
        f'accession="{kind}" name="kind"/><cvParam cvRef="MS" accession="MS:1000511" name="ms level" value="1"/>'
        "</referenceableParamGroup></referenceableParamGroupList>"
    )
    parts = []
    for number, (time, (mz, intensity)) in enumerate(zip(times, scans, strict=True)):
        own = (
            '<referenceableParamGroupRef ref="common"/>'
            if group
            else f'<cvParam cvRef="MS" accession="MS:1000511" name="ms level" value="{level[number] if level else 1}"/>'
            f'<cvParam cvRef="MS" accession="{kind}" name="kind"/>'
        )
        if total:
            own += f'<cvParam cvRef="MS" accession="MS:1000285" name="total ion current" value="{np.sum(intensity)}"/>'
        parts.append(
            f'<spectrum index="{number}" id="scan={number + 1}" defaultArrayLength="{len(mz)}">{own}<scanList count="1">'
            '<cvParam cvRef="MS" accession="MS:1000795" name="no combination"/><scan><cvParam cvRef="MS" accession='
            f'"MS:1000016" name="scan start time" value="{float(time * unit[1])!r}" unitCvRef="UO" unitAccession="{unit[0]}"/>'
            f'</scan></scanList><binaryDataArrayList count="2">{mzml_array(mz, "MS:1000514", bits, zipped)}'
            f"{mzml_array(intensity, 'MS:1000515', bits, zipped)}</binaryDataArrayList></spectrum>"
        )
    run = f'<spectrumList count="{len(parts)}">{"".join(parts)}</spectrumList>' if spectra else ""
    if chromatogram:
        totals = [np.sum(intensity) for _, intensity in scans]
        run += (
            f'<chromatogramList count="1"><chromatogram index="0" id="TIC" defaultArrayLength="{len(times)}"><cvParam '
            'cvRef="MS" accession="MS:1000235" name="total ion current chromatogram"/><binaryDataArrayList count="2">'
            f"{mzml_array(times, 'MS:1000595')}{mzml_array(totals, 'MS:1000515')}</binaryDataArrayList></chromatogram>"
            "</chromatogramList>"
        )
    body = f'<mzML xmlns="http://psi.hupo.org/ms/mzml" version="1.1.0">{space}{shared if group else ""}<run id="r">{run}</run></mzML>'
    if index:
        body = f'<indexedmzML xmlns="http://psi.hupo.org/ms/mzml">{body}<indexList count="0"/></indexedmzML>'
    return (f'<?xml version="1.0" encoding="utf-8"?>\n{prolog}' + body).encode()


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


def andi_ms(times, scans, mass="f8", intensity="f8", scale=None, offset=None, reverse=False, gap=0, total=True,
            version=1, attributes=None, index=True, counts=True):  # fmt: skip
    """The bytes of an ANDI mass spectrometry file with the names of ASTM E2077.

    reverse : scans stand in the file last first. gap : unused ions after each scan. scale : (mass, intensity).
    """
    buffer = io.BytesIO()
    out = netcdf_file(buffer, "w", version=version)
    for name, value in {"experiment_type": "Centroided Mass Spectrum", **(attributes or {})}.items():
        setattr(out, name, value)
    order = range(len(scans))[::-1] if reverse else range(len(scans))
    masses, ions, at = [], [], {}
    here = 0
    for number in order:
        at[number] = here
        masses += [*scans[number][0], *([1.0] * gap)]
        ions += [*scans[number][1], *([0.0] * gap)]
        here += len(scans[number][0]) + gap
    out.createDimension("scan_number", len(scans))
    out.createDimension("point_number", len(masses))
    by = scale or (1.0, 1.0)
    for name, kind, values, factor in (
        ("mass_values", mass, masses, by[0]),
        ("intensity_values", intensity, ions, by[1]),
    ):
        stored = (np.array(values) - (offset or 0.0 if name == "mass_values" else 0.0)) / factor
        variable = out.createVariable(name, kind, ("point_number",))
        variable[:] = np.round(stored) if kind.startswith("i") else stored
        if scale:
            variable.scale_factor = np.float64(factor)
        if offset and name == "mass_values":
            variable.add_offset = np.float64(offset)
    columns = {"scan_acquisition_time": ("f8", np.asarray(times) * 60)}
    if total:
        columns["total_intensity"] = ("f8", [np.sum(one) for _, one in scans])
    if index:
        columns["scan_index"] = ("i4", [at[number] for number in range(len(scans))])
    if counts:
        columns["point_count"] = ("i4", [len(mz) for mz, _ in scans])
    for name, (kind, values) in columns.items():
        out.createVariable(name, kind, ("scan_number",))[:] = values
    out.flush()
    content = buffer.getvalue()
    out.close()
    return content


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
