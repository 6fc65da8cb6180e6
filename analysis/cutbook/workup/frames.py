"""Turn findings into pandas tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from cutbook.model.amount import nominal, standard_uncertainty
from cutbook.model.errors import InputError, nearest
from cutbook.model.result import Result

if TYPE_CHECKING:
    import pandas as pd

    from cutbook.workup.findings import Findings


def frame(findings: Findings, what: str) -> pd.DataFrame:
    """A table of the findings.

    Parameters
    ----------
    findings : of one run.
    what : "balance", "carbon_numbers", "cuts", "sample_cuts", "gas", "elements", "chlorine" (every compound
        that was looked for), "energy" or "peaks".

    Returns
    -------
    pandas.DataFrame
        Units in the column names, standard uncertainties (k = 1) in columns u_…; a missing value is NaN, with the
        code of the caution that says why in the column `reason`.

    Raises
    ------
    InputError
        When there is no such table.
    """
    import pandas as pd

    if what not in TABLES:
        near = nearest(what, tuple(TABLES))
        raise InputError.single(
            "", "table", f"'{what}'", "one of " + ", ".join(TABLES), f"Did you mean '{near}'?" if near else ""
        )
    columns, rows = TABLES[what]
    return pd.DataFrame(list(rows(findings)), columns=list(columns))


def _pair(name: str, result: Result | None) -> dict[str, Any]:
    value = None if result is None else result.value
    u = None if result is None else result.u
    nan = float("nan")
    return {name: nan if value is None else value, f"u_{name}": nan if u is None else u}


def _balance(findings: Findings) -> Iterator[dict[str, Any]]:
    for one in findings.balance.products:
        yield {
            "fraction": one.fraction,
            "how": one.how,
            **_pair("mass_g", one.mass),
            **_pair("yield_as_charged_percent", one.yield_as_charged),
            **_pair("yield_dry_percent", one.yield_dry),
            **_pair("yield_dry_ash_free_percent", one.yield_dry_ash_free),
            "reason": one.mass.reason,
        }


def _carbon_numbers(findings: Findings) -> Iterator[dict[str, Any]]:
    for sample in findings.samples:
        for share in sample.carbons.shares if sample.carbons is not None else ():
            yield {
                "sample": sample.name,
                "n": float("nan") if share.n is None else share.n,
                "part": share.part,
                **_pair("mass_percent", share.mass),
                "mass_other_response_percent": share.mass_other_response,
                "reason": share.mass.reason,
            }


def _cuts(findings: Findings) -> Iterator[dict[str, Any]]:
    for cut in findings.cuts:
        yield {
            "scheme": cut.scheme,
            "definition": cut.definition,
            "cut": cut.cut,
            "limits": cut.limits,
            **_pair("yield_as_charged_percent", cut.yield_as_charged),
            **_pair("yield_dry_percent", cut.yield_dry),
            **_pair("yield_dry_ash_free_percent", cut.yield_dry_ash_free),
            "reason": cut.yield_as_charged.reason,
        }


def _sample_cuts(findings: Findings) -> Iterator[dict[str, Any]]:
    for sample in findings.samples:
        for cut in sample.cuts:
            yield {
                "sample": sample.name,
                "scheme": cut.scheme,
                "definition": cut.definition,
                "cut": cut.cut,
                "limits": cut.limits,
                **_pair("mass_percent", cut.mass),
                "reason": cut.mass.reason,
            }


def _peaks(findings: Findings) -> Iterator[dict[str, Any]]:
    for sample in findings.samples:
        for number, peak in enumerate(sample.peaks, 1):
            yield {
                "sample": sample.name,
                "number": number,
                "start_min": peak.start_min,
                "apex_min": peak.apex_min,
                "end_min": peak.end_min,
                "retention_index": peak.retention_index,
                "area": peak.area,
                "u_area": peak.u_area,
                "height": peak.height,
                "signal_unit": sample.peaks.signal_unit,
                "half_width_min": peak.half_width_min,
                "tailing": peak.tailing,
                "resolution": peak.resolution,
                "signal_to_noise": peak.signal_to_noise,
                "area_rule": peak.area_rule,
                "name": peak.name,
                "flags": ", ".join(peak.flags),
            }


def _gas(findings: Findings) -> Iterator[dict[str, Any]]:
    for one in findings.gas.composition if findings.gas is not None else ():
        yield {
            "component": one.component,
            **_pair("mole_percent", one.mole),
            **_pair("mass_percent", one.mass),
            "below_mole_percent": float("nan") if one.mole.limit is None else one.mole.limit,
            "reason": one.mole.reason,
        }


def _elements(findings: Findings) -> Iterator[dict[str, Any]]:
    found = findings.elements
    for stream in found.balance.streams if found is not None else ():
        for element, share in stream.elements.items():
            yield {
                "stream": stream.name,
                "side": "feed" if stream.feed else "product",
                "element": element,
                "share_percent": float("nan") if share.share is None else 100 * nominal(share.share),
                "u_share_percent": float("nan") if share.share is None else 100 * standard_uncertainty(share.share),
                "low_percent": 100 * share.low,
                "high_percent": 100 * share.high,
                "how": share.how,
            }


def _chlorine(findings: Findings) -> Iterator[dict[str, Any]]:
    for oil in findings.chlorine.screened if findings.chlorine is not None else ():
        for one in oil.targets:
            seen = one.screened
            yield {
                "of": oil.of,
                "compound": seen.target.name,
                "chlorine_atoms": seen.target.chlorine_atoms,
                "verdict": seen.verdict,
                **_pair("concentration_mg_kg", one.concentration),
                "detection_limit_mg_kg": _pair("limit", one.detection_limit)["limit"],
                "basis": one.basis,
                "time_min": float("nan") if seen.time_min is None else seen.time_min,
                "retention_index": float("nan") if seen.retention_index is None else seen.retention_index,
                "reason": one.concentration.reason,
            }


def _energy(findings: Findings) -> Iterator[dict[str, Any]]:
    for row in findings.energy.rows if findings.energy is not None else ():
        yield {
            "stream": row.name,
            "feed": row.feed,
            "how": row.how,
            "method": row.method,
            **_pair("mass_g", row.mass),
            **_pair("gross_mj_kg", row.gross),
            **_pair("energy_mj", row.energy),
            **_pair("share_percent", row.share),
            "reason": row.energy.reason,
        }


def _pairs(*names: str) -> tuple[str, ...]:
    return tuple(column for name in names for column in (name, f"u_{name}"))


_BASES = ("yield_as_charged_percent", "yield_dry_percent", "yield_dry_ash_free_percent")
_Rows = Callable[["Findings"], Iterator[dict[str, Any]]]
TABLES: dict[str, tuple[tuple[str, ...], _Rows]] = {
    "balance": (("fraction", "how", *_pairs("mass_g", *_BASES), "reason"), _balance),
    "carbon_numbers": (
        ("sample", "n", "part", *_pairs("mass_percent"), "mass_other_response_percent", "reason"),
        _carbon_numbers,
    ),
    "cuts": (("scheme", "definition", "cut", "limits", *_pairs(*_BASES), "reason"), _cuts),
    "sample_cuts": (
        ("sample", "scheme", "definition", "cut", "limits", *_pairs("mass_percent"), "reason"),
        _sample_cuts,
    ),
    "gas": (("component", *_pairs("mole_percent", "mass_percent"), "below_mole_percent", "reason"), _gas),
    "elements": (
        (
            "stream", "side", "element", *_pairs("share_percent"), "low_percent", "high_percent", "how",
        ),
        _elements,
    ),
    "chlorine": (
        (
            "of", "compound", "chlorine_atoms", "verdict", *_pairs("concentration_mg_kg"), "detection_limit_mg_kg",
            "basis", "time_min", "retention_index", "reason",
        ),
        _chlorine,
    ),
    "energy": (
        ("stream", "feed", "how", "method", *_pairs("mass_g", "gross_mj_kg", "energy_mj", "share_percent"), "reason"),
        _energy,
    ),
    "peaks": (
        (
            "sample", "number", "start_min", "apex_min", "end_min", "retention_index", "area", "u_area", "height",
            "signal_unit", "half_width_min", "tailing", "resolution", "signal_to_noise", "area_rule", "name", "flags",
        ),
        _peaks,
    ),
}  # fmt: skip
