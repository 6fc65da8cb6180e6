"""Correct the loss of a standard test distillation to the standard atmosphere."""

from __future__ import annotations

from cutbook.model.tables import reference


def corrected_loss(loss_percent: float, pressure_kpa: float) -> float:
    """The loss that the standard atmosphere would have shown, in % of the charge by volume.

    Parameters
    ----------
    loss_percent : as observed. pressure_kpa : of the barometer, above 0.

    Returns
    -------
    float
        ``Lc = 0.5 + (L - 0.5)/(1 + (101.3 - P)/8.00)``.

    References
    ----------
    ASTM D86 and ISO 3405; constants in ``reference/barometric_correction.csv``.

    Examples
    --------
    >>> round(corrected_loss(4.7, 98.6), 2)
    3.64
    """
    known = {row["constant"]: float(row["value"]) for row in reference("barometric_correction").rows}
    spread = 1.0 + (known["standard"] - pressure_kpa) / known["loss pressure"]
    return known["loss kept"] + (loss_percent - known["loss kept"]) / spread


def corrected_recovery(recovered_percent: float, loss_percent: float, pressure_kpa: float) -> float:
    """The recovery that goes with the corrected loss: ``Rc = R + (L - Lc)``, in % of the charge by volume."""
    return recovered_percent + loss_percent - corrected_loss(loss_percent, pressure_kpa)
