"""Write the peaks of all samples as a text table that cannot run in a spreadsheet."""

from __future__ import annotations

import csv
import io

from cutbook.model.errors import printable
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.workup.findings import Findings

STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
HEAD = (
    "sample", "number", "start_min", "apex_min", "end_min", "retention_index", "area", "u_area", "height",
    "signal_unit", "half_width_min", "tailing", "resolution", "signal_to_noise", "area_rule", "name", "flags",
)  # fmt: skip


def peaks_csv(findings: Findings, settings: OutputSettings = AS_WRITTEN) -> str:
    """peaks.csv as text: one line a peak, in order of elution, sample by sample.

    UTF-8, comma and decimal point, or semicolon and decimal comma. A text that begins with = + - @, a tab or a
    carriage return gets an apostrophe before it, so that opening the file in a spreadsheet runs nothing; take
    the apostrophe off when reading it back. Area in signal unit × min; u_area at k = 1. Empty: not determined.
    """
    comma = settings.decimal == "comma"
    buffer = io.StringIO()
    writer = csv.writer(buffer, delimiter=";" if comma else ",", lineterminator="\n")
    writer.writerow(HEAD)

    def number(value: float | None, digits: int) -> str:
        text = "" if value is None else f"{value:.{digits}g}"
        return text.replace(".", ",") if comma else text

    for sample in findings.samples:
        for place, peak in enumerate(sample.peaks, 1):
            writer.writerow(
                [
                    text_cell(sample.name),
                    place,
                    number(peak.start_min, 9),
                    number(peak.apex_min, 9),
                    number(peak.end_min, 9),
                    number(peak.retention_index, 7),
                    number(peak.area, 9),
                    number(peak.u_area, 4),
                    number(peak.height, 9),
                    text_cell(sample.peaks.signal_unit),
                    number(peak.half_width_min, 6),
                    number(peak.tailing, 4),
                    number(peak.resolution, 4),
                    number(peak.signal_to_noise, 5),
                    text_cell(peak.area_rule),
                    text_cell(peak.name),
                    text_cell(", ".join(peak.flags)),
                ]
            )
    return buffer.getvalue()


def text_cell(text: str) -> str:
    """A text cell: an apostrophe before what a spreadsheet would run, control characters escaped."""
    armed = text.startswith(STARTS_A_FORMULA)
    return ("'" if armed else "") + printable(text, 1000)
