"""Put into words what a lone file holds and what it can be used for."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

from cutbook.identification.peak_spectra import peak_spectra
from cutbook.importers.file_contents import FileContents
from cutbook.model.errors import printable
from cutbook.model.gas import GasTable, MeterLog
from cutbook.model.scans import ScanSeries, Spectrum
from cutbook.model.still import StillLog
from cutbook.model.trace import ListedPeaks, Trace
from cutbook.reporting.cautions import in_order
from cutbook.reporting.halogen_words import (
    against_formula,
    formula_lines,
    halogen_record,
    halogen_words,
    lone_line,
    peaks_line,
)
from cutbook.reporting.repair_names import repair_names, together


def contents_record(contents: FileContents) -> dict[str, Any]:
    """What a file holds as plain values."""
    return {
        "file": contents.name,
        "format": _format(contents),
        "sha256": contents.sha256,
        "trace": _trace(contents.signal) if isinstance(contents.signal, Trace) else None,
        "peak_list": _listed(contents.signal) if isinstance(contents.signal, ListedPeaks) else None,
        "scans": _scans(contents.scans) if contents.scans is not None else None,
        "spectrum": _spectrum(contents.spectrum) if contents.spectrum is not None else None,
        "still_log": _still(contents.still) if contents.still is not None else None,
        "meter_log": _meter(contents.meter) if contents.meter is not None else None,
        "gas_table": _gas(contents.gas) if contents.gas is not None else None,
        "cautions": [{"level": one.level, "code": one.code, "text": one.text} for one in in_order(contents.cautions)],
        "refused": [str(error) for error in contents.refused],
    }


def contents_lines(contents: FileContents) -> tuple[str, ...]:
    """The same as lines to print, wording from `reports/file_contents.toml`."""
    return tuple(_lines(contents))


def _lines(contents: FileContents) -> Iterator[str]:
    words = tomllib.loads(files("cutbook.reports").joinpath("file_contents.toml").read_text(encoding="utf-8"))
    record = contents_record(contents)
    yield words["head"].format(file=printable(contents.name), format=record["format"])
    for kind in ("trace", "peak_list", "scans", "spectrum", "still_log", "meter_log", "gas_table"):
        facts = record[kind]
        if facts is None:
            continue
        filled = {key: words["unknown"][key] if value in (None, "") else value for key, value in facts.items()}
        yield words[kind].format(**filled)
        if kind == "trace" and facts["stored_peaks"]:
            yield words["stored_peaks"].format(**filled)
        if kind in ("still_log", "meter_log"):
            for one in facts["repairs"]:
                yield words["repair"].format(**one)
        if kind == "scans" and facts["halogens"]:
            yield peaks_line(facts["halogens"])
            yield halogen_words()["hint"]
        if kind == "spectrum":
            yield lone_line(facts["halogens"])
            yield from formula_lines(facts["formula"], facts["against_formula"])
        yield words["use"][kind]
    for one in record["cautions"]:
        yield f"  {one['level']}: {one['text']}"
    for line in record["refused"]:
        yield words["refused"].format(line=line)


def _format(contents: FileContents) -> str:
    if contents.still is not None:
        return "still log"
    if contents.meter is not None:
        return "gas meter log"
    if contents.gas is not None:
        return "gas composition table"
    if contents.spectrum is not None:
        return contents.spectrum.format
    one = contents.signal or contents.scans
    stated = str(one.step.settings.get("format", "")) if one is not None else ""
    sheet = one.step.settings.get("sheet") if one is not None else None
    return f"{stated}, sheet {printable(sheet)}" if sheet else stated


def _trace(trace: Trace) -> dict[str, Any]:
    return {
        "points": len(trace.time_min),
        "start_min": round(float(trace.time_min[0]), 4),
        "end_min": round(float(trace.time_min[-1]), 4),
        "per_second": float(f"{1.0 / (60.0 * trace.interval_min):.4g}"),
        "unit": printable(trace.signal_unit, 40),
        "detector": trace.detector,
        "low": float(f"{trace.signal.min():.5g}"),
        "high": float(f"{trace.signal.max():.5g}"),
        "stored_peaks": len(trace.stored_peaks),
    }


def _listed(listed: ListedPeaks) -> dict[str, Any]:
    apexes = [peak.apex_min for peak in listed.peaks if peak.apex_min is not None]
    return {
        "peaks": len(listed.peaks),
        "start_min": round(min(apexes), 4),
        "end_min": round(max(apexes), 4),
        "area": float(f"{sum(peak.area or 0.0 for peak in listed.peaks):.6g}"),
        "unit": printable(listed.area_unit, 40),
        "named": sum(bool(peak.name) for peak in listed.peaks),
        "detector": listed.detector,
    }


def _scans(scans: ScanSeries) -> dict[str, Any]:
    filled = len(scans.mz) > 0
    return {
        "scans": len(scans),
        "start_min": round(float(scans.time_min[0]), 4),
        "end_min": round(float(scans.time_min[-1]), 4),
        "ions": len(scans.mz),
        "kind": scans.kind,
        "mz_low": round(float(scans.mz.min()), 2) if filled else None,
        "mz_high": round(float(scans.mz.max()), 2) if filled else None,
        "halogens": [halogen_record(one) for one in peak_spectra(scans)] if filled else [],
    }


def _spectrum(spectrum: Spectrum) -> dict[str, Any]:
    return {
        "ions": len(spectrum.mz),
        "mz_low": round(float(spectrum.mz.min()), 2),
        "mz_high": round(float(spectrum.mz.max()), 2),
        "formula": printable(spectrum.formula, 40) or None,
        "halogens": halogen_record(spectrum),
        "against_formula": against_formula(spectrum),
    }


def _still(log: StillLog) -> dict[str, Any]:
    heads = [one.head_c for one in log.readings if one.head_c is not None]
    return {"low": round(min(heads), 1), "high": round(max(heads), 1), **_log(log)}


def _meter(log: MeterLog) -> dict[str, Any]:
    counter = [one.volume_ml / 1000 for one in log.readings]
    return {"low": round(min(counter), 3), "high": round(max(counter), 3), **_log(log)}


def _gas(table: GasTable) -> dict[str, Any]:
    figures = [row.value for row in table.rows if row.value is not None]
    by_area = table.unit == "area"
    return {
        "components": len(table.rows),
        "figures": len(figures),
        "below_limit": sum(row.value is None and row.limit is not None for row in table.rows),
        "empty": sum(row.value is None and row.limit is None for row in table.rows),
        "sum": float(f"{sum(figures) * (1 if by_area else 100):.6g}"),
        "unit": "area over response" if by_area else "mole %",
    }


def _log(log: StillLog | MeterLog) -> dict[str, Any]:
    """What every log that a hand kept has: readings, columns and what was not taken as it stands."""
    columns = log.step.settings["columns"]
    return {
        "readings": len(log.readings),
        "columns": ", ".join(f"{field.replace('_', ' ')} ('{printable(name, 40)}')" for field, name in columns.items()),
        "repairs": [
            {
                "place": one.place,
                "column": printable(one.column, 40),
                "found": printable(one.found, 60),
                "what": repair_names()[one.kind],
            }
            for one in together(log.repairs)
        ],
        "repaired": len(log.repairs),
    }
