"""Read a detector signal from an ANDI chromatography file (netCDF-3).

References
----------
ASTM E1947, Standard Specification for Analytical Data Interchange Protocol for Chromatographic Data; ASTM E2077 for
mass spectrometry.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.andi_scans import read_andi_scans, scan_times_min
from cutbook.importers.netcdf3 import MAGIC, Netcdf, open_netcdf
from cutbook.importers.scan_checks import trace_of_scans
from cutbook.importers.time_unit import units_in_a_minute
from cutbook.importers.trace_checks import agreed_detector, check_trace, detector_named
from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import printable
from cutbook.model.lineage import Source, Step
from cutbook.model.run import TraceEntry
from cutbook.model.scans import ScanSeries
from cutbook.model.trace import Floats, StoredPeak, Trace

# what stands where nothing was measured: the specification's own, and what the format writes by itself
_FILLER = -9999.0
_LEAST_DEFAULT = 9.9e36  # the default is 9.97e36, in 32 bits, in 64, or rounded by the writer; no signal is so large
_USED = frozenset({
    "ordinate_values", "raw_data_retention", "peak_retention_time", "peak_start_time", "peak_end_time", "peak_area",
    "baseline_start_value", "baseline_stop_value", "scan_acquisition_time", "total_intensity", "mass_values",
    "intensity_values", "scan_index", "point_count",
})  # fmt: skip
_MOST_NOTED = 1_000_000  # values of an array that is only named
_INTEGER_FILLERS = {">i2": -32767.0, ">i4": -2147483647.0}


def recognises(head: bytes) -> bool:
    """Whether a file begins like netCDF-3."""
    return head.startswith(MAGIC)


def read(file: TraceFile, entry: TraceEntry) -> Trace:
    """Read the signal, its times and the file's own peak table.

    Parameters
    ----------
    file : the file, read whole.
    entry : its entry in the run sheet.

    Returns
    -------
    Trace
        Times in min; the signal as stored, after the file's own scale and offset. A mass spectrometry file gives its
        total ion current with the detector "MS".

    Raises
    ------
    TraceError
        When the file is damaged, is no chromatogram, or its signal does not stand the checks.

    Notes
    -----
    Where the file has no times of its own, ``t_i = delay + i × interval``, all in its retention unit (seconds unless
    it says otherwise).
    """
    netcdf = open_netcdf(file)
    if "ordinate_values" in netcdf.variables:
        per_minute = _per_minute(netcdf)
        signal = _vector(netcdf, "ordinate_values")
        time_min, doubts = _times(netcdf, len(signal), per_minute)
        unit, named = netcdf.text("detector_unit"), detector_named(netcdf.text("detector_name"))
        peaks = _stored_peaks(netcdf, per_minute)
    elif "scan_acquisition_time" in netcdf.variables:
        time_min, signal = _scan_totals(netcdf)
        if np.isnan(signal).any() and "mass_values" in netcdf.variables:
            return trace_of_scans(file, entry, read_andi_scans(netcdf, time_min, signal), "ANDI mass spectrometry")
        doubts, unit, named, peaks = (), "", "MS", ()
    else:
        raise file.fault(
            "",
            f"netCDF without a chromatogram (variables: {', '.join(list(netcdf.variables)[:6]) or 'none'})",
            "'ordinate_values' or 'scan_acquisition_time'",
            "Export the detector signal as ANDI chromatography",
        )
    if len(time_min) != len(signal):
        raise file.fault("", f"{len(time_min)} times for {len(signal)} samples", "as many times as samples")
    checked = check_trace(entry, time_min, signal, lambda point: f"point {point + 1}")
    outside = sum(p.apex_min is not None and not time_min[0] <= p.apex_min <= time_min[-1] for p in peaks)
    if outside:
        doubts += (caution("trace.stored_peaks_outside", file.name, count=outside),)
    doubts += _not_used(netcdf)
    detector, differs = agreed_detector(entry, named)
    step = Step(
        "read trace/1",
        settings={"format": "ANDI", "detector": detector},
        source=Source(file.name, file.sha256),
        cautions=doubts + differs + checked.cautions,
    )
    return Trace(file.name, checked.time_min, checked.signal, unit, detector, step, peaks)


def read_scans(file: TraceFile) -> ScanSeries:
    """The scan series of a mass spectrometry file.

    Raises
    ------
    TraceError
        When the file is damaged, holds no mass spectra, or its lists of scans contradict each other.
    """
    netcdf = open_netcdf(file)
    if "scan_acquisition_time" not in netcdf.variables:
        raise file.without_scans("", "netCDF without mass spectra", "ANDI mass spectrometry", "Export the scans")
    return read_andi_scans(netcdf, *_scan_totals(netcdf))


def _not_used(netcdf: Netcdf) -> tuple[Caution, ...]:
    """A note of the arrays in the file that nothing here asks for, so that nothing is passed over in silence."""
    names = []
    for name, variable in netcdf.variables.items():
        if name in _USED or variable.dtype == "S1" or not variable.shape or math.prod(variable.shape) > _MOST_NOTED:
            continue
        values = netcdf.numbers(name)
        if values is not None and (~_unfilled(values) & (values != 0)).any():
            names.append(printable(name, 40))
    if not names:
        return ()
    more = f" and {len(names) - 12} more" if len(names) > 12 else ""
    return (caution("andi.not_used", netcdf.file.name, names=", ".join(names[:12]) + more),)


def _scan_totals(netcdf: Netcdf) -> tuple[Floats, Floats]:
    """Time in min and total ion current of every scan, NaN where the file has none."""
    time_min = scan_times_min(netcdf, _vector(netcdf, "scan_acquisition_time"))
    if "total_intensity" not in netcdf.variables:
        return time_min, np.full(len(time_min), np.nan)
    total = _vector(netcdf, "total_intensity")
    if len(total) != len(time_min):
        raise netcdf.file.fault("", f"{len(time_min)} times for {len(total)} scans", "as many times as scans")
    return time_min, total


def _unfilled(values: Floats) -> NDArray[np.bool_]:
    """Where nothing was written."""
    missing: NDArray[np.bool_] = (values == _FILLER) | ~(np.abs(values) < _LEAST_DEFAULT)
    return missing


def _per_minute(netcdf: Netcdf) -> float:
    stated = netcdf.text("retention_unit") or "seconds"
    per_minute = units_in_a_minute(stated)
    if per_minute is None:
        raise netcdf.file.fault("retention_unit", f"'{stated}'", "seconds, minutes, milliseconds or hours")
    return per_minute


def _vector(netcdf: Netcdf, name: str) -> Floats:
    """A one-dimensional variable, fillers as NaN, after its own scale and offset."""
    values = netcdf.numbers(name)
    if values is None or values.ndim != 1 or not len(values):
        shape = "text" if values is None else f"{values.size} values in {values.ndim} dimensions"
        raise netcdf.file.fault(name, shape, "one row of numbers")
    variable = netcdf.variables[name]
    fillers = [_INTEGER_FILLERS.get(variable.dtype, _FILLER)]
    for key in ("_FillValue", "missing_value"):
        declared = variable.attributes.get(key)
        if isinstance(declared, np.ndarray):
            fillers.extend(declared[:1])
    values[_unfilled(values) | np.isin(values, fillers)] = np.nan
    scale, offset = (variable.attributes.get(key) for key in ("scale_factor", "add_offset"))
    with np.errstate(over="ignore", invalid="ignore"):  # what overflows is refused as not finite
        if isinstance(scale, np.ndarray) and len(scale):
            values *= scale[0]
        if isinstance(offset, np.ndarray) and len(offset):
            values += offset[0]
    return values


def _single(netcdf: Netcdf, name: str) -> float | None:
    """A variable that holds one number, None where it is absent or a filler."""
    values = netcdf.numbers(name)
    if values is None or values.size != 1:
        return None
    return None if _unfilled(values).any() else float(values.flat[0])


def _times(netcdf: Netcdf, count: int, per_minute: float) -> tuple[Floats, tuple[Caution, ...]]:
    file = netcdf.file
    if "raw_data_retention" in netcdf.variables:
        own = _vector(netcdf, "raw_data_retention")
        if not np.isnan(own).all():  # some writers declare the variable and leave it unfilled
            return own / per_minute, ()
    uniform = netcdf.variables["ordinate_values"].attributes.get("uniform_sampling_flag", "Y")
    if isinstance(uniform, str) and uniform.upper().startswith("N"):
        raise file.fault("raw_data_retention", "no times though sampling is declared uneven", "a time for every sample")
    interval = _single(netcdf, "actual_sampling_interval")
    if interval is None or interval <= 0:
        found = "no sampling interval and no times" if interval is None else f"a sampling interval of {interval:.6g}"
        raise file.fault("actual_sampling_interval", found, "an interval above 0, or a time for every sample")
    doubts: list[Caution] = []
    delay = _single(netcdf, "actual_delay_time")
    if delay is None:
        doubts.append(caution("trace.no_delay", file.name))
    with np.errstate(over="ignore"):
        time_min: Floats = ((delay or 0.0) + interval * np.arange(count, dtype=np.float64)) / per_minute
    stated = _single(netcdf, "actual_run_time_length")
    lasts = count * interval
    # a hundredth and two samples: writers count the delay and the last interval in or leave them out
    if stated is not None and stated > 0 and abs(lasts - stated) > 0.01 * stated + 2 * interval + abs(delay or 0.0):
        doubts.append(caution("trace.length_differs", file.name, stated=stated / per_minute, found=lasts / per_minute))
    return time_min, tuple(doubts)


def _stored_peaks(netcdf: Netcdf, per_minute: float) -> tuple[StoredPeak, ...]:
    """The peak table of the file; a value it does not give is None."""
    apexes = netcdf.numbers("peak_retention_time")
    if apexes is None or apexes.ndim != 1:
        return ()
    count = len(apexes)

    def column(name: str, divisor: float = 1.0) -> list[float | None]:
        values = netcdf.numbers(name)
        if values is None or values.shape != (count,):
            return [None] * count
        missing = _unfilled(values)
        return [None if gone else float(v) / divisor for v, gone in zip(values, missing, strict=True)]

    names = netcdf.texts("peak_name")
    return tuple(
        StoredPeak(*row)
        for row in zip(
            names if names is not None and len(names) == count else [""] * count,
            column("peak_retention_time", per_minute),
            column("peak_start_time", per_minute),
            column("peak_end_time", per_minute),
            column("peak_area", per_minute),
            column("baseline_start_value"),
            column("baseline_stop_value"),
            strict=True,
        )
    )
