"""Take air and purge gas out of a gas, and tell from nitrogen and oxygen how they got into it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal

from cutbook.gas.substances import constant, substances
from cutbook.model.amount import Amount, flat, nominal, standard_uncertainty, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.gas import GasComposition, ProductGas, TrappedOxygen
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.units import GAS_CONSTANT, KELVIN

N2, O2, AR, CO2 = "nitrogen", "oxygen", "argon", "carbon dioxide"
_NOBLE = (AR, "helium", "neon")  # no plastic gives them
_NOTHING = 1e-12  # mole fraction that is rounding
Purge = Literal["nitrogen", "argon", "carbon dioxide", "helium", "none", ""]


@dataclass(frozen=True)
class AirSettings:
    """How air is told and taken out.

    by : "agreement" takes air out only where nitrogen and oxygen tell the same amount of it, and flags it otherwise;
        "nitrogen", "oxygen" or "argon" take that one for the measure of the air, whatever the others say. "agreement"
        because headspace whose oxygen was burnt leaves nitrogen behind that no ratio can undo.
    tolerance : relative departure of nitrogen to oxygen from that of air which is still air (0.1, common practice).
    least : mole fraction of nitrogen or oxygen below which air is not worth a word (0.001).
    """

    by: Literal["agreement", "nitrogen", "oxygen", "argon"] = "agreement"
    tolerance: float = 0.1
    least: float = 0.001


def product_gas(gas: GasComposition, purge: Purge, about: str, settings: AirSettings = AirSettings()) -> ProductGas:
    """What of a dry gas came from the charge.

    Parameters
    ----------
    gas : dry. purge : gas that swept the reactor; "" where nobody says. about : the product, for cautions.

    Returns
    -------
    ProductGas
        Air is taken out with its nitrogen, oxygen, argon and carbon dioxide; a declared purge gas whole, beyond what
        of it belongs to the air. Nitrogen, oxygen or a noble gas that is neither stays in the gas, and `air_free` is
        False.

    Raises
    ------
    InputError
        When nothing is left, or air is to be told by a component that is not in the table.
    """
    judged = _Judged(gas, purge, about, settings)
    air = judged.air()
    gone = judged.gone(air)
    removed = judged.removed(air, gone)
    judged.hold_against(air)
    kept = {name: share - removed.get(name, 0.0) for name, share in gas.shares.items()}
    # what the air took whole, or more than whole (which is told beyond the error of the analysis), is gone
    kept = {
        name: share
        for name, share in kept.items()
        if name not in gone and (name in gas.limits or nominal(share) > _NOTHING)
    }
    product: Any = total(kept.values())
    if nominal(product) <= 1e-6:
        raise InputError.single(
            "", about, "a gas of nothing but air and purge gas", "some product gas", "Was the right bag analysed?"
        )
    ratio = judged.ratio
    if ratio is None:
        judged.raised.append(caution("gas.ratio_unknown", about))
    unknown = (CO2,) if purge == CO2 else ()
    step = Step(
        "product gas/2",
        inputs=(gas.step,),
        settings={"settings": settings, "purge": purge},
        cautions=tuple(judged.raised),
    )
    if ratio is None:
        told = Result.missing(f"nitrogen to oxygen of {about}", "1", "dry gas as analysed", step, "gas.ratio_unknown")
    else:
        told = Result(f"nitrogen to oxygen of {about}", ratio, "1", "dry gas as analysed", step)
    swept = total(share for name, share in removed.items() if name == purge) - (
        judged.of_air(purge) * air if purge else 0.0
    )
    return ProductGas(
        shares=MappingProxyType({name: flat(share / product) for name, share in kept.items()}),
        product_share=product,
        air=Result(f"air in {about}", 100 * air + 0.0, "%", "dry gas as analysed", step),
        purge=Result(f"purge gas in {about}", 100 * swept + 0.0, "%", "dry gas as analysed", step),
        nitrogen_to_oxygen=told,
        air_free=judged.clean,
        limits=MappingProxyType({n: v / nominal(product) for n, v in gas.limits.items() if n in kept}),
        unknown=unknown,
        step=step,
    )


class _Judged:
    """What nitrogen, oxygen and argon of one gas say about air, with the cautions on the way."""

    def __init__(self, gas: GasComposition, purge: str, about: str, settings: AirSettings) -> None:
        self.gas, self.purge, self.about, self.settings = gas, purge, about, settings
        self.raised: list[Caution] = []
        self.clean, self.agreed = True, False
        n2, o2 = gas.shares.get(N2), gas.shares.get(O2)
        self.ratio: Any = None
        if n2 is not None and o2 is not None and nominal(n2) > 0 and nominal(o2) > 0:
            self.ratio = n2 / o2

    @staticmethod
    def of_air(name: str) -> Any:
        """Mole fraction of a component in dry air, 0 for what is none of it."""
        return constant(f"{name} in dry air") if name in (N2, O2, AR, CO2) else 0.0

    def air(self) -> Any:
        """Mole fraction of air in the gas that is beyond doubt."""
        by = self.settings.by
        if by != "agreement":
            if by not in self.gas.shares:
                raise InputError.single(
                    "",
                    self.about,
                    f"no {by} in the table",
                    f"{by}, since air is to be told by it",
                    "Choose another in [air]",
                )
            if by == self.purge:
                raise InputError.single(
                    "", self.about, f"air to be told by {by}, which is the purge gas", "another component of air"
                )
            air = self.gas.shares[by] / self.of_air(by)
            self.raised.append(caution("gas.air_by_one", self.about, percent=_percent(air), by=by))
            return air
        return self._agreed()

    def _agreed(self) -> Any:
        n2, o2 = self.gas.shares.get(N2), self.gas.shares.get(O2)
        least = self.settings.least
        some_n2, some_o2 = (one is not None and nominal(one) > least for one in (n2, o2))
        swept = self.purge == N2  # so that there may be any more of it than the oxygen brings along
        if swept:
            if o2 is None and n2 is None:
                return self._not_tested()
            if o2 is None:
                self._unsure("gas.oxygen_not_given", nitrogen=_percent(n2))
                return 0.0
            if not some_o2:
                return 0.0
            if n2 is None:
                return self._removed(o2 / self.of_air(O2))
        elif not some_n2 and not some_o2:
            if n2 is None or (o2 is None and N2 not in self.gas.limits):
                return self._not_tested()
            return 0.0
        if o2 is None:
            self._unsure("gas.oxygen_not_given", nitrogen=_percent(n2))
            return 0.0
        if n2 is None:
            self._unsure("gas.nitrogen_not_given", oxygen=_percent(o2))
            return 0.0
        in_air = self.of_air(N2) / self.of_air(O2)
        excess = n2 - o2 * in_air  # of nitrogen, over what the oxygen brings along
        allowed = self.settings.tolerance * max(nominal(n2), nominal(o2 * in_air)) + 2 * standard_uncertainty(excess)
        if swept and nominal(excess) >= -allowed:
            return self._removed(o2 / self.of_air(O2))
        if abs(nominal(excess)) <= allowed:
            return self._removed(n2 / self.of_air(N2))
        if nominal(excess) > 0:
            proven = o2 / self.of_air(O2) if nominal(o2) > 0 else 0.0
            lost = (n2 / in_air - o2) * 100
            self._unsure(
                "gas.oxygen_depleted", ratio=self._ratio_told(), nitrogen=_percent(excess),
                oxygen=round(nominal(lost), 2), air=_percent(proven),
            )  # fmt: skip
            return proven
        proven = n2 / self.of_air(N2) if some_n2 else 0.0
        self._unsure(
            "gas.oxygen_rich", ratio=self._ratio_told(), oxygen=_percent(-excess / in_air), air=_percent(proven)
        )
        return proven

    def _not_tested(self) -> float:
        missing = ", ".join(name for name in (N2, O2) if name not in self.gas.shares)
        self._unsure("gas.air_not_tested", missing=missing)
        return 0.0

    def _ratio_told(self) -> str:
        """Nitrogen to oxygen in figures, a bound where oxygen was not seen."""
        n2, o2, limit = self.gas.shares[N2], self.gas.shares[O2], self.gas.limits.get(O2)
        if nominal(o2) > 0:
            return f"{nominal(n2 / o2):.3g}"
        return f"> {nominal(n2) / limit:.3g}" if limit else "∞"

    def _removed(self, air: Any) -> Any:
        self.agreed = True
        self.raised.append(caution("gas.air_removed", self.about, percent=_percent(air)))
        return air

    def _left(self, name: str, air: Any) -> tuple[float, float]:
        """What of a component the air leaves, below 0 where it would take more than there is, and what is allowed."""
        of_air = nominal(self.of_air(name) * air)
        return nominal(self.gas.shares.get(name, 0.0)) - of_air, self.settings.tolerance * of_air + self.settings.least

    def hold_against(self, air: Any) -> None:
        """Tell what the air leaves or lacks of the gases that come from no plastic; agreement tells its own two."""
        by = self.settings.by
        for name in _NOBLE if by == "agreement" else (N2, O2, *_NOBLE):
            left, allowed = self._left(name, air)
            if left > allowed and name not in (by, self.purge):
                self._unsure("gas.air_left", component=name, percent=_percent(left))
            elif left < -allowed and name in (N2, O2):
                self.raised.append(caution("gas.air_lacks", self.about, component=name, percent=_percent(-left), by=by))

    def _unsure(self, code: str, **facts: str | float) -> None:
        self.clean = False
        self.raised.append(Caution(code, self.about, facts))

    def removed(self, air: Any, gone: Sequence[str]) -> Mapping[str, Any]:
        """What is taken out, by component. gone : of which nothing is left."""
        taken: dict[str, Any] = {}
        shares = self.gas.shares
        if nominal(air) > 0:
            taken = {name: self.of_air(name) * air for name in (N2, O2, AR, CO2) if name in shares}
        taken |= {name: shares[name] for name in gone}
        purge = self.purge
        if purge in shares:
            beyond = shares[purge] - self.of_air(purge) * air
            if purge == CO2:
                self.raised.append(caution("gas.purge_carbon_dioxide", self.about, percent=_percent(shares[CO2])))
            elif nominal(beyond) > 0:  # less than the air brings along is the error of the analysis
                self.raised.append(caution("gas.purge_removed", self.about, gas=purge, percent=_percent(beyond)))
        elif purge not in ("none", ""):
            self.clean = False
            self.raised.append(caution("gas.purge_not_in_table", self.about, gas=purge))
        elif purge == "" and (nominal(shares.get(N2, 0.0)) > self.settings.least):
            self.raised.append(caution("gas.purge_not_stated", self.about))
        return taken

    def gone(self, air: Any) -> tuple[str, ...]:
        """Components of which nothing is left as product."""
        names = [self.purge] if self.purge in self.gas.shares else []
        if self.agreed:
            # with the ratio of air, what is left of either is the error of the analysis
            names += [N2, O2]
            left, allowed = self._left(AR, air)
            names += [AR] if left <= allowed else []
        return tuple(dict.fromkeys(name for name in names if name in self.gas.shares))


def trapped_oxygen(
    free_volume_ml: Amount | float, temperature_c: float, pressure_kpa: float, before: Step
) -> TrappedOxygen:
    """The oxygen of the air that stood over a charge, and what it can have become at most.

    Parameters
    ----------
    free_volume_ml : gas space over the charge in mL. temperature_c, pressure_kpa : of the air when it was closed.

    Notes
    -----
    2 H2 + O2 = 2 H2O, 2 C + O2 = 2 CO, C + O2 = CO2: each bound is reached only where all oxygen takes that way.
    """
    known = substances()
    moles = constant("oxygen in dry air") * pressure_kpa * (free_volume_ml / 1000)
    moles = moles / (GAS_CONSTANT * (temperature_c + KELVIN))
    step = Step(
        "oxygen of trapped air/2",
        inputs=(before,),
        settings={"temperature_c": temperature_c, "pressure_kpa": pressure_kpa},
        cautions=(
            caution(
                "gas.trapped_air", "gas",
                oxygen=round(nominal(moles * known[O2].molar_mass), 2),
                water=round(nominal(2 * moles * known["water"].molar_mass), 2),
            ),
        ),
    )  # fmt: skip

    def grams(name: str, per_oxygen: int, measurand: str) -> Result:
        return Result(measurand, per_oxygen * moles * known[name].molar_mass, "g", "", step)

    return TrappedOxygen(
        grams(O2, 1, "oxygen of the air over the charge"),
        grams("water", 2, "most water from the air over the charge"),
        grams("carbon monoxide", 2, "most carbon monoxide from the air over the charge"),
        grams(CO2, 1, "most carbon dioxide from the air over the charge"),
    )


def _percent(share: Any) -> float:
    return round(100 * nominal(share), 2) if share is not None else 0.0
