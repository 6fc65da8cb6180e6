"""Read the scans of an ANDI mass spectrometry file (netCDF-3).

References
----------
ASTM E2077, Standard Specification for Analytical Data Interchange Protocol for Mass Spectrometric Data.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.netcdf3 import Netcdf
from cutbook.importers.scan_checks import MOST_IONS, ReadScans, check_scans
from cutbook.importers.time_unit import units_in_a_minute
from cutbook.model.cautions import Caution, caution
from cutbook.model.scans import Ions, ScanKind, ScanSeries
from cutbook.model.trace import Floats

_FILLER = -9999.0


def scan_times_min(netcdf: Netcdf, stated: Floats) -> Floats:
    """Scan times in min; the variable says its unit, else the specification does (s)."""
    unit = netcdf.variables["scan_acquisition_time"].attributes.get("units", "")
    per_minute = units_in_a_minute(unit) if isinstance(unit, str) and unit else 60.0
    if per_minute is None:
        raise netcdf.file.fault("scan_acquisition_time", f"the unit '{unit}'", "seconds or minutes")
    return stated / per_minute


def read_andi_scans(netcdf: Netcdf, time_min: Floats, total: Floats) -> ScanSeries:
    """The scan series of a file.

    Parameters
    ----------
    netcdf : the open file. time_min, total : of each scan, total NaN where it is a filler; shape (n,).

    Raises
    ------
    TraceError
        When the file holds no mass spectra, or its lists of scans contradict each other.
    """
    file = netcdf.file
    for name in ("mass_values", "intensity_values"):
        if name not in netcdf.variables:
            do = "Export the scans, not the total ion current alone"
            raise file.without_scans(name, "nothing", "the mass spectra", do)
    mz, intensity = _ions(netcdf, "mass_values"), _ions(netcdf, "intensity_values")
    if len(mz) != len(intensity):
        raise file.fault("", f"{len(mz)} masses for {len(intensity)} intensities", "as many masses as intensities")
    index, count = _places(netcdf, len(time_min), len(mz))
    left_out: list[Caution] = []
    if (overlaps := _contradictions(index, count, len(mz))) and (np.diff(index) >= 0).all():
        # the places divide the ions among the scans without a gap, whatever the counts say
        count = np.diff(np.append(index, len(mz)))
        left_out.append(caution("scans.counts_differ", file.name, count=overlaps, of=len(count)))
        overlaps = _contradictions(index, count, len(mz))
    if overlaps:
        found = f"{overlaps} scans that overlap or lie outside the {len(mz)} ions of the file"
        raise file.fault(
            "scan_index, point_count", found, "a place of its own for every scan", "Export the scans again"
        )
    starts = np.concatenate([[0], np.cumsum(count)])
    if (index[count > 0] != starts[:-1][count > 0]).any():  # in another order, or with gaps between
        at = np.repeat(index - starts[:-1], count) + np.arange(int(starts[-1]))
        unused = len(mz) - len(at)
        mz, intensity = mz[at], intensity[at]
    else:
        unused = len(mz) - int(starts[-1])
        mz, intensity = mz[: starts[-1]], intensity[: starts[-1]]
    if unused:
        left_out.append(caution("scans.points_of_no_scan", file.name, count=unused))
    settings: dict[str, object] = {"format": "ANDI mass spectrometry"}
    for name in ("experiment_type", "test_ionization_mode", "test_scan_function", "test_ms_inlet"):
        if netcdf.text(name):
            settings[name] = netcdf.text(name)
    read = ReadScans(time_min, starts, mz, intensity, total, _kind(netcdf), settings, tuple(left_out))
    return check_scans(file, read, lambda scan: f"scan {scan + 1}")


def _kind(netcdf: Netcdf) -> ScanKind:
    stated = netcdf.text("experiment_type").casefold()
    if "centroid" in stated:
        return "centroid"
    return "profile" if "continuum" in stated or "profile" in stated else ""


def _ions(netcdf: Netcdf, name: str) -> Ions:
    """One value an ion in the precision of the file, after the variable's own scale and offset."""
    values = netcdf.native(name, MOST_IONS)
    if values is None or values.ndim != 1:
        raise netcdf.file.fault(name, "no row of numbers", "one number an ion")
    attributes = netcdf.variables[name].attributes
    scale, offset = (attributes.get(key) for key in ("scale_factor", "add_offset"))
    with np.errstate(over="ignore", invalid="ignore"):  # what overflows is refused as not finite
        if isinstance(scale, np.ndarray) and len(scale) and scale[0] != 1:
            values = values.astype(np.float64) * scale[0]
        if isinstance(offset, np.ndarray) and len(offset) and offset[0] != 0:
            values = values.astype(np.float64) + offset[0]
    return values


def _counts(netcdf: Netcdf, name: str, scans: int) -> NDArray[np.int64] | None:
    values = netcdf.numbers(name)
    if values is None:
        return None
    if values.shape != (scans,):
        raise netcdf.file.fault(name, f"{values.size} entries for {scans} scans", "one a scan")
    if not (np.abs(values) < 2**53).all():
        raise netcdf.file.fault(name, "an entry that is no count", "whole numbers from 0")
    return values.astype(np.int64)


def _places(netcdf: Netcdf, scans: int, ions: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First ion and number of ions of every scan; either follows from the other where the file has but one."""
    index, count = _counts(netcdf, "scan_index", scans), _counts(netcdf, "point_count", scans)
    if count is not None:
        count = np.where(count == int(_FILLER), 0, count)
    if index is None:
        if count is None:
            raise netcdf.file.fault("", "neither scan_index nor point_count", "where each scan begins and ends")
        index = np.concatenate([[0], np.cumsum(count)[:-1]]).astype(np.int64)
    return index, np.diff(np.append(index, ions)) if count is None else count


def _contradictions(index: NDArray[np.int64], count: NDArray[np.int64], ions: int) -> int:
    """How many scans have an impossible count, lie outside the file or share ions with another."""
    filled = count > 0
    order = np.argsort(index[filled], kind="stable")
    first, size = index[filled][order], count[filled][order]
    ends = np.append(first[1:], ions)
    return int((count < 0).sum() + ((first < 0) | (size > ends - first)).sum())
