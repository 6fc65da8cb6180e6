"""A distillation as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.model.cuts import Cut
from cutbook.reporting.plain_values import quantity
from cutbook.reporting.repair_names import repair_names
from cutbook.workup.findings import DistillationFindings


def distillation_result(still: DistillationFindings) -> dict[str, Any]:
    """One distillation.

    Returns
    -------
    dict
        Keys of, file, rows, loss, residue, cuts, properties; and, of our own, name, kind, basis, recovered, receivers,
        and repairs: what was not taken as it stands in the log. A row has its reading as written beside what follows
        from it.
    """
    curve = still.curve
    return {
        "name": still.name,
        "of": still.entry.of,
        "file": curve.log.file,
        "kind": curve.kind,
        "basis": curve.basis,
        "rows": [
            {
                "place": point.place,
                "reading": {
                    "time": reading.time_min,
                    "pot_temperature": reading.pot_c,
                    "head_temperature": reading.head_c,
                    "volume": reading.volume_ml,
                    "volume_percent": reading.volume_percent,
                    "mass": reading.mass_g,
                    "pressure": reading.pressure_kpa,
                    "receiver": reading.receiver or None,
                    "note": reading.note or None,
                },
                "mass_recovered": quantity(point.mass_recovered),
                "volume_recovered": quantity(point.volume_recovered),
                "head_temperature": quantity(point.head_temperature),
                "pressure": quantity(point.pressure),
                "equivalent_temperature": quantity(point.equivalent_temperature),
            }
            for point, reading in zip(curve.points, curve.log.readings, strict=True)
        ],
        "reading_units": {
            "time": "min", "pot_temperature": "°C", "head_temperature": "°C", "volume": "mL", "volume_percent": "%",
            "mass": "g", "pressure": "kPa",
        },
        "recovered": quantity(curve.recovered),
        "residue": quantity(curve.residue),
        "loss": quantity(curve.loss),
        "cuts": [_cut(cut) for cut in curve.cuts],
        "receivers": [_cut(cut) for cut in curve.receivers],
        "properties": {one.name: quantity(one.result) for one in still.properties},
        "property_methods": {one.name: {"estimate": one.estimate, "method": one.method} for one in still.properties},
        "repairs": [
            {
                "place": repair.place or None,
                "column": repair.column or None,
                "kind": repair.kind,
                "text": repair_names()[repair.kind],
                "found": repair.found or None,
                "read_as": repair.read_as or None,
            }
            for repair in curve.log.repairs
        ],
    }  # fmt: skip


def _cut(cut: Cut) -> dict[str, Any]:
    return {
        "scheme": cut.scheme,
        "definition": cut.definition,
        "cut": cut.cut,
        "limits": cut.limits,
        "mass": quantity(cut.mass),
    }
