"""An invented simple distillation of an oil whose composition is known, and the log that somebody kept of it."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from cutbook.fractions.vapour_pressure import vapour_pressure_kpa
from cutbook.model.tables import reference

WATSON_K = 12.35
WATER_G_ML = 0.999


def densities(boiling_c):
    """g/mL of hydrocarbons of one Watson factor."""
    return WATER_G_ML * (1.8 * (np.asarray(boiling_c) + 273.15)) ** (1 / 3) / WATSON_K


class SimpleStill:
    """One pot, one equilibrium, no column. grams : carbon number -> g in the pot."""

    def __init__(self, grams):
        boiling, molar = (reference("n_alkanes").numbers("carbon_number", key) for key in ("boiling_c", "molar_mass"))
        carbons = sorted(grams)
        self.boiling = np.array([boiling[n] for n in carbons])
        self.molar = np.array([molar[n] for n in carbons])
        self.density = densities(self.boiling)
        self.moles = np.array([grams[n] for n in carbons]) / self.molar

    def bubble(self, moles, pressure_kpa):
        """Temperature in °C at which a liquid boils, and the composition of its vapour."""
        share = moles / moles.sum()

        def over(t):
            return float(share @ vapour_pressure_kpa(t, self.boiling, WATSON_K)) - pressure_kpa

        t = brentq(over, -60.0, 480.0, xtol=1e-6)
        vapour = share * vapour_pressure_kpa(t, self.boiling, WATSON_K)
        return t, vapour / vapour.sum()

    def step(self, pressure_kpa, share=0.002):
        """Distil a small share of what is left; head and pot temperature and the mL and g that came over.

        The thermometer in the head is wet with condensate, so it reads between the vapour and what condenses first;
        less so under vacuum, where the vapour is fast.
        """
        dry = 0.6 if pressure_kpa > 50 else 0.75
        pot, vapour = self.bubble(self.moles, pressure_kpa)
        condensed, _ = self.bubble(vapour, pressure_kpa)
        drawn = np.minimum(vapour * share * self.moles.sum(), self.moles)
        self.moles = self.moles - drawn
        grams = drawn * self.molar
        return dry * pot + (1 - dry) * condensed, pot, float((grams / self.density).sum()), float(grams.sum())

    def left(self):
        return float((self.moles * self.molar).sum())


def kept_log(grams, seed, stages, every_ml=12.0, lost=0.006):
    """A log as a hand keeps it.

    grams : carbon number -> g. stages : (pressure in kPa, pot in °C at which it ends), in order.
    every_ml : between readings. lost : share of the distillate that leaves through the vent at the start.

    Returns rows (minutes, pot, head, mL in the receiver, mbar, receiver), and grams by receiver and left in the pot.
    """
    rng = np.random.default_rng(seed)
    still = SimpleStill(grams)
    rows, weights, minutes = [], [], 0.0
    for number, (pressure, until) in enumerate(stages, 1):
        collected, weight, reading = 0.0, 0.0, 0.0
        escaped = lost * sum(grams.values()) if number == 1 else 0.0
        while True:
            head, pot, ml, g = still.step(pressure)
            minutes += ml / 2.5
            part = min(g, escaped)
            escaped -= part
            collected += ml * (1 - part / g)
            weight += g - part
            if collected >= reading or pot > until:
                rows.append((minutes, pot + rng.normal(0, 0.6), head + rng.normal(0, 0.4), collected, 10 * pressure,
                             number))  # fmt: skip
                reading += every_ml
            if pot > until:
                break
        weights.append(weight)
        minutes += 25.0
    return rows, weights, still.left()
