"""A gas whose truth is known: two detectors with a gas standard, and the meter that the gas passed."""

from __future__ import annotations

import numpy as np
from simulated_trace import Compounds, render

GAS_CONSTANT, KELVIN = 8.314462618, 273.15
MOLAR_MASS = {
    "hydrogen": 2.016, "nitrogen": 28.013, "methane": 16.043, "carbon monoxide": 28.010, "carbon dioxide": 44.010,
    "ethene": 28.054, "ethane": 30.070, "propene": 42.081, "propane": 44.097, "isobutene": 56.108, "1-butene": 56.108,
    "n-butane": 58.123, "n-pentane": 72.150,
}  # fmt: skip
TIMES = {  # min
    "TCD": {"hydrogen": 0.85, "nitrogen": 2.10, "methane": 2.95, "carbon monoxide": 3.80, "carbon dioxide": 5.20,
            "ethene": 6.60, "ethane": 7.70},
    "FID": {"methane": 1.50, "ethane": 1.72, "ethene": 1.87, "propane": 2.60, "propene": 3.10, "n-butane": 4.15,
            "1-butene": 4.70, "isobutene": 4.95, "n-pentane": 6.60},
}  # fmt: skip
ANSWERS = {  # area a mole; invented, near the literature
    "TCD": {"hydrogen": 2.4, "nitrogen": 41.5, "methane": 36.1, "carbon monoxide": 42.3, "carbon dioxide": 48.4,
            "ethene": 47.6, "ethane": 51.0},
    "FID": {"methane": 100.0, "ethane": 199.0, "ethene": 192.0, "propane": 300.0, "propene": 291.0, "n-butane": 401.0,
            "1-butene": 390.0, "isobutene": 391.0, "n-pentane": 498.0},
}  # fmt: skip
WIDTH = {"TCD": (0.024, 0.0035), "FID": (0.012, 0.0020)}  # sigma in min at the start, and more a minute


def gas_trace(detector, shares, rng, injected=1.0, stretch=1.0, noise=0.012):
    """Time in min and signal of a gas of these mole fractions; the injected amount and the flow vary as they do."""
    t = np.arange(0, 9.0, 1 / 480)
    seen = [name for name in shares if name in ANSWERS[detector]]
    times = np.array([stretch * TIMES[detector][name] for name in seen])
    areas = np.array([injected * shares[name] * ANSWERS[detector][name] for name in seen])
    start, more = WIDTH[detector]
    sigma = start + more * times
    base = 4.0 + 0.25 * t / 9.0 + 0.08 * np.sin(t)
    return t, base + render(t, Compounds(times, areas, sigma, 0.3 * sigma)) + rng.normal(0, noise, len(t))


def molar_mass(shares):
    """Of a gas from mole fractions, g/mol."""
    return sum(share * MOLAR_MASS[name] for name, share in shares.items()) / sum(shares.values())


def water_kpa(celsius):
    """Saturation pressure of water in kPa: Magnus form of the WMO (2008), within 0.3 % from 0 to 60 °C."""
    return 0.6112 * np.exp(17.62 * celsius / (243.12 + celsius))


def litres(moles, celsius, kpa, compression):
    """Volume in L of so many mol of dry gas over water."""
    return moles * compression * GAS_CONSTANT * (celsius + KELVIN) / (kpa - water_kpa(celsius))


def meter_log(product_mol, purge_mol, minutes, top, start, compression):
    """Rows of a log: clock, counter, temperature, pressure, note.

    The gas comes when the charge cracks, the purge all the time; the counter goes over its top, one reading was
    forgotten, the pressure hardly moves.
    """
    at = np.arange(0, minutes + 1, 10)
    came = 1 / (1 + np.exp(-(at - 62.0) / 9.0))
    came = (came - came[0]) / (came[-1] - came[0])
    warm = np.round(20.0 + 2.5 * at / minutes, 1)
    pressed = np.where(at < 60, 1006.0, 1005.0)
    rows, counter = [], start
    for place, minute in enumerate(at):
        if place:
            moles = product_mol * (came[place] - came[place - 1]) + purge_mol * (minute - at[place - 1]) / minutes
            middle = 0.5 * (warm[place] + warm[place - 1]), 0.05 * (pressed[place] + pressed[place - 1])
            counter += litres(moles, *middle, compression)
        clock = 9 * 60 + 20 + int(minute)
        shown = "" if minute == 30 else f"{counter % top:.1f}"
        pressure = '"' if place and pressed[place] == pressed[place - 1] else f"{pressed[place]:.0f}"
        note = {0: "purge on", 30: "forgot the counter", minutes: "purge off"}.get(int(minute), "")
        rows.append((f"{clock // 60:02d}:{clock % 60:02d}", shown, f"{warm[place]:.1f}", pressure, note))
    return rows
