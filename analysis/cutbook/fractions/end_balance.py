"""Balance the light and the heavy end of an oil between the still and the trace."""

from __future__ import annotations

import numpy as np

from cutbook.fractions.curve_in_kind import CurveInKind
from cutbook.fractions.still_circumstances import Circumstances
from cutbook.fractions.still_track import StillTrack, recovered_at
from cutbook.model.agreement import EndBalance
from cutbook.model.amount import Amount, nominal
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.still import StillCurve

_ROUND_C = 5.0
"""°C to which the parting temperatures are rounded, so that they read as somebody would choose them."""


def end_balances(
    still: StillCurve,
    track: StillTrack,
    in_kind: CurveInKind,
    around: Circumstances,
    parted_at: tuple[float, float],
    step: Step,
) -> tuple[EndBalance, EndBalance]:
    """What lies below a low and above a high temperature, by the still and by the trace.

    Parameters
    ----------
    still, track : the distillation, and its log as a curve. in_kind : the trace in the still's kind.
    around : for what did not come over. parted_at : recovered % of the trace near which the two temperatures are
        chosen. step : lineage.

    Returns
    -------
    light, heavy : EndBalance
        The light end as recovered % at the temperature; the heavy end as 100 % less recovered and loss there, so that
        what the receiver never got counts as light. Where the log ends before the upper temperature, its last head
        temperature parts the heavy end.
    """
    values = [
        (at, nominal(one)) for at, one in zip(in_kind.recovered, in_kind.temperatures, strict=True) if one is not None
    ]
    basis = f"charge, by {in_kind.axis}"
    if len(values) < 2 or len(track.recovered) < 3:
        nothing = _nothing(basis, step)
        return nothing, nothing
    at, head = (np.array(column) for column in zip(*values, strict=True))
    low = _rounded(float(np.interp(parted_at[0], at, head)))
    high = _rounded(float(np.interp(parted_at[1], at, head)))
    high = min(high, _ROUND_C * np.floor(float(track.head_c.max()) / _ROUND_C))
    loss = still.loss.amount if still.loss.amount is not None else None
    return (
        _balance("below", low, recovered_at(track, low), _trace_at(in_kind, low), basis, step),
        _balance(
            "above", high, _rest(recovered_at(track, high), loss), _rest(_trace_at(in_kind, high), None), basis, step
        ),
    )


def _rest(over: Amount | None, loss: Amount | None) -> Amount | None:
    if over is None:
        return None
    return 100.0 - over if loss is None else 100.0 - over - loss


def _rounded(celsius: float) -> float:
    return float(_ROUND_C * round(celsius / _ROUND_C))


def _trace_at(in_kind: CurveInKind, celsius: float) -> Amount | None:
    """Recovered % at which the trace, in the still's kind, reaches a temperature."""
    known = [(at, one) for at, one in zip(in_kind.recovered, in_kind.temperatures, strict=True) if one is not None]
    at = np.array([one[0] for one in known])
    values = np.array([nominal(one[1]) for one in known])
    if not values[0] <= celsius <= values[-1]:
        return None
    found = float(np.interp(celsius, values, at))
    after = int(np.clip(np.searchsorted(values, celsius), 1, len(values) - 1))
    slope = max((values[after] - values[after - 1]) / (at[after] - at[after - 1]), 0.3)
    near = known[after][1]
    return found - (near - nominal(near)) / float(slope)


def _balance(
    side: str, celsius: float, still: Amount | None, trace: Amount | None, basis: str, step: Step
) -> EndBalance:
    def result(name: str, amount: Amount | None) -> Result:
        if amount is None:
            return Result.missing(f"{side} {celsius:g} °C, {name}", "%", basis, step, "agreement.end_not_reached")
        return Result(f"{side} {celsius:g} °C, {name}", amount, "%", basis, step)

    apart = None if still is None or trace is None else still - trace
    return EndBalance(celsius, result("still", still), result("trace", trace), result("still less trace", apart))


def _nothing(basis: str, step: Step) -> EndBalance:
    missing = Result.missing("end of the curve", "%", basis, step, "agreement.end_not_reached")
    return EndBalance(None, missing, missing, missing)
