"""Files of mass spectra as mzML and ANDI/netCDF-3, written plainly by the rules of the format."""

from __future__ import annotations

import base64
import io
import zlib

import numpy as np
from scipy.io import netcdf_file

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
    "MS:1000511": "ms level",
    "MS:1000285": "total ion current",
    "MS:1000795": "no combination",
    "MS:1000016": "scan start time",
    "MS:1000235": "total ion current chromatogram",
}


def term(accession, value=None, unit=None, name=None):
    """One term of the vocabulary; NAMES has its name."""
    more = "" if value is None else f' value="{value}"'
    if unit:
        more += f' unitCvRef="UO" unitAccession="{unit}"'
    return f'<cvParam cvRef="MS" accession="{accession}" name="{name or NAMES[accession]}"{more}/>'


def mzml_array(values, kind, bits=64, zipped=True, extra=""):
    """One binary array. kind : its accession. bits : 32 or 64, or "i32" or "i64" for whole numbers."""
    stored = {32: "<f4", 64: "<f8", "i32": "<i4", "i64": "<i8"}[bits]
    accession = {32: "MS:1000521", 64: "MS:1000523", "i32": "MS:1000519", "i64": "MS:1000522"}[bits]
    raw = np.asarray(values).astype(stored).tobytes()
    text = base64.b64encode(zlib.compress(raw) if zipped else raw).decode()
    packing = "MS:1000574" if zipped else "MS:1000576"
    return (
        f'<binaryDataArray encodedLength="{len(text)}">{extra}{term(accession)}{term(packing)}'
        f"{term(kind, unit='UO:0000031')}<binary>{text}</binary></binaryDataArray>"
    )


def mzml(times, scans, bits=64, zipped=True, seconds=False, level=None, kind="MS:1000127", total=True, group=False,
         chromatogram=True, index=False, spectra=True, prolog="", space="", intensity_bits=None):  # fmt: skip
    """The bytes of an mzML file.

    level : of each scan. kind : MS:1000127 of centroids, MS:1000128 of profiles. group : whether level and kind stand
    in a shared group. intensity_bits : where intensities are stored otherwise than m/z.
    """
    unit = ("UO:0000010", 60.0) if seconds else ("UO:0000031", 1.0)
    spectrum_kind = term(kind, name="centroid spectrum" if kind == "MS:1000127" else "profile spectrum")
    shared = (
        '<referenceableParamGroupList count="1"><referenceableParamGroup id="common">'
        f"{spectrum_kind}{term('MS:1000511', 1)}</referenceableParamGroup></referenceableParamGroupList>"
    )
    parts = []
    for number, (time, (mz, intensity)) in enumerate(zip(times, scans, strict=True)):
        own = (
            '<referenceableParamGroupRef ref="common"/>'
            if group
            else term("MS:1000511", level[number] if level else 1) + spectrum_kind
        )
        if total:
            own += term("MS:1000285", np.sum(intensity))
        parts.append(
            f'<spectrum index="{number}" id="scan={number + 1}" defaultArrayLength="{len(mz)}">{own}'
            f'<scanList count="1">{term("MS:1000795")}<scan>'
            f"{term('MS:1000016', repr(float(time * unit[1])), unit[0])}</scan></scanList>"
            f'<binaryDataArrayList count="2">{mzml_array(mz, "MS:1000514", bits, zipped)}'
            f"{mzml_array(intensity, 'MS:1000515', intensity_bits or bits, zipped)}</binaryDataArrayList></spectrum>"
        )
    run = f'<spectrumList count="{len(parts)}">{"".join(parts)}</spectrumList>' if spectra else ""
    if chromatogram:
        totals = [np.sum(intensity) for _, intensity in scans]
        run += (
            f'<chromatogramList count="1"><chromatogram index="0" id="TIC" defaultArrayLength="{len(times)}">'
            f'{term("MS:1000235")}<binaryDataArrayList count="2">'
            f"{mzml_array(times, 'MS:1000595')}{mzml_array(totals, 'MS:1000515')}</binaryDataArrayList></chromatogram>"
            "</chromatogramList>"
        )
    body = (
        f'<mzML xmlns="http://psi.hupo.org/ms/mzml" version="1.1.0">{space}{shared if group else ""}'
        f'<run id="r">{run}</run></mzML>'
    )
    if index:
        body = f'<indexedmzML xmlns="http://psi.hupo.org/ms/mzml">{body}<indexList count="0"/></indexedmzML>'
    return (f'<?xml version="1.0" encoding="utf-8"?>\n{prolog}' + body).encode()


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
