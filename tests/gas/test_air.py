"""Air and purge gas out of a gas: derived compositions, nothing pasted."""

import pytest

from cutbook.gas.air import AirSettings, product_gas, trapped_oxygen
from cutbook.gas.substances import constant, substances
from cutbook.model.amount import measured, nominal
from cutbook.model.errors import InputError
from cutbook.model.gas import GasComposition
from cutbook.model.lineage import Step

# typical of cracked polyolefins; no air
PURE = {"hydrogen": 0.1, "methane": 0.25, "ethane": 0.15, "ethene": 0.15, "propene": 0.2, "propane": 0.1,
        "carbon dioxide": 0.05}  # fmt: skip
# US Standard Atmosphere 1976: another source of the composition of air than the one in the reference table
AIR = {"nitrogen": 0.78084, "oxygen": 0.209476, "argon": 0.00934, "carbon dioxide": 0.000314}


def gas(shares, u=0.001, limits=()):
    amounts = {name: measured(share, u * share, f"analysis of {name}") for name, share in shares.items()}
    return GasComposition(amounts, dict(limits), (), 1.0, Step("given/1"))


def diluted(share, air=AIR, base=PURE):
    names = dict.fromkeys([*base, *air])
    return {name: (1 - share) * base.get(name, 0.0) + share * air.get(name, 0.0) for name in names}


def codes(found):
    return {one.code for one in found.step.cautions}


@pytest.mark.parametrize("share", [0.01, 0.05, 0.2, 0.5, 0.8])
@pytest.mark.parametrize("argon", [True, False], ids=["argon", "no argon"])
def test_a_gas_with_air_is_recovered_within_a_tenth_of_a_percent(share, argon):
    mixed = diluted(share)
    if not argon:  # it elutes with oxygen
        mixed["oxygen"] += mixed.pop("argon")
    found = product_gas(gas(mixed), "none", "gas")
    assert found.air_free
    assert "gas.air_removed" in codes(found)
    for name in {*PURE, "nitrogen", "oxygen", "argon"}:
        assert nominal(found.shares.get(name, 0.0)) == pytest.approx(PURE.get(name, 0.0), abs=0.001), name
    assert nominal(sum(found.shares.values())) == pytest.approx(1.0, abs=1e-12)
    assert found.air.value == pytest.approx(100 * share, rel=0.01)
    assert nominal(found.product_share) == pytest.approx(1 - share, abs=0.002)


def test_the_nitrogen_to_oxygen_ratio_of_air_is_told():
    found = product_gas(gas(diluted(0.2)), "none", "gas")
    assert found.nitrogen_to_oxygen.value == pytest.approx(3.73, abs=0.005)


@pytest.mark.parametrize("left", [0.0, 0.02, 0.1])
def test_burnt_headspace_is_flagged_and_not_corrected(left):
    """Nitrogen of 20 % air, of whose oxygen a part is left."""
    air = {"nitrogen": AIR["nitrogen"], "oxygen": AIR["oxygen"] * left}
    mixed = diluted(0.2, air)
    whole = sum(mixed.values())
    mixed = {name: share / whole for name, share in mixed.items()}
    found = product_gas(gas(mixed), "none", "gas")
    assert not found.air_free
    assert "gas.oxygen_depleted" in codes(found)
    told = next(one for one in found.step.cautions if one.code == "gas.oxygen_depleted")
    assert told.facts["air"] == pytest.approx(found.air.value, abs=0.005)
    # only the air that the oxygen proves went; the other nitrogen is still there
    proven = mixed["oxygen"] / 0.20939
    assert found.air.value == pytest.approx(100 * proven, rel=1e-9, abs=1e-12)
    assert nominal(found.shares["nitrogen"]) > 0.9 * mixed["nitrogen"]


def test_nitrogen_as_the_measure_of_air_takes_it_out_when_asked():
    mixed = {name: share for name, share in diluted(0.2, {"nitrogen": 1.0}).items()}
    found = product_gas(gas(mixed), "none", "gas", AirSettings(by="nitrogen"))
    assert "nitrogen" not in found.shares
    assert "gas.air_by_one" in codes(found)


def test_oxygen_as_the_measure_leaves_the_nitrogen_of_burnt_headspace_and_says_so():
    found = product_gas(gas(diluted(0.2, {"nitrogen": 0.9, "oxygen": 0.1})), "none", "gas", AirSettings(by="oxygen"))
    assert not found.air_free
    assert {"gas.air_by_one", "gas.air_left"} <= codes(found)


def test_argon_as_the_measure_agrees_with_the_others():
    found = product_gas(gas(diluted(0.2)), "none", "gas", AirSettings(by="argon"))
    assert found.air.value == pytest.approx(20, rel=0.01)


def test_oxygen_without_its_nitrogen_is_flagged():
    found = product_gas(gas(diluted(0.2, {"nitrogen": 0.3, "oxygen": 0.7})), "none", "gas")
    assert not found.air_free
    assert "gas.oxygen_rich" in codes(found)


def test_a_nitrogen_purge_goes_whole_and_air_is_told_by_oxygen():
    # 30 % purge and 10 % air
    mixed = diluted(0.1, AIR, diluted(0.3, {"nitrogen": 1.0}))
    found = product_gas(gas(mixed), "nitrogen", "gas")
    assert found.air_free
    assert found.air.value == pytest.approx(10, rel=0.01)
    assert found.purge.value == pytest.approx(0.9 * 30, rel=0.02)
    for name, share in PURE.items():
        assert nominal(found.shares[name]) == pytest.approx(share, abs=0.001)


@pytest.mark.parametrize("purge", ["argon", "helium"])
def test_a_noble_purge_goes_whole(purge):
    found = product_gas(gas({**diluted(0.4, {purge: 1.0}), "nitrogen": 0.0, "oxygen": 0.0}), purge, "gas")
    assert purge not in found.shares
    assert found.purge.value == pytest.approx(40, rel=1e-9)
    assert nominal(found.shares["methane"]) == pytest.approx(PURE["methane"], abs=1e-9)


def test_a_purge_with_carbon_dioxide_leaves_none_that_could_be_called_product():
    found = product_gas(gas(diluted(0.3, {"carbon dioxide": 1.0})), "carbon dioxide", "gas")
    assert "carbon dioxide" not in found.shares
    assert found.unknown == ("carbon dioxide",)
    assert "gas.purge_carbon_dioxide" in codes(found)


def test_a_purge_that_the_table_does_not_give_leaves_the_gas_in_doubt():
    found = product_gas(gas({**PURE, "nitrogen": 0.0, "oxygen": 0.0}), "helium", "gas")
    assert not found.air_free
    assert "gas.purge_not_in_table" in codes(found)


@pytest.mark.parametrize(
    ("taken", "code"),
    [("oxygen", "gas.oxygen_not_given"), ("nitrogen", "gas.nitrogen_not_given")],
)
def test_air_that_cannot_be_told_is_not_taken_out(taken, code):
    mixed = diluted(0.2)
    del mixed[taken]
    whole = sum(mixed.values())
    found = product_gas(gas({name: share / whole for name, share in mixed.items()}), "none", "gas")
    assert not found.air_free
    assert code in codes(found)
    assert found.air.value == 0
    assert found.nitrogen_to_oxygen.value is None


def test_a_gas_without_any_sign_of_air_keeps_every_share():
    found = product_gas(gas({**PURE, "nitrogen": 0.0, "oxygen": 0.0}), "none", "gas")
    assert found.air_free
    assert {n: nominal(v) for n, v in found.shares.items()} == pytest.approx(PURE)


def test_a_table_without_nitrogen_and_oxygen_was_not_tested_for_air():
    found = product_gas(gas(PURE), "none", "gas")
    assert not found.air_free
    assert "gas.air_not_tested" in codes(found)


def test_a_bag_of_room_air_is_no_product():
    with pytest.raises(InputError, match="nothing but air"):
        product_gas(gas(AIR), "none", "gas")


def test_the_doubt_of_nitrogen_and_oxygen_reaches_the_product():
    sure = product_gas(gas(diluted(0.2), u=0.0001), "none", "gas")
    unsure = product_gas(gas(diluted(0.2), u=0.02), "none", "gas")
    assert unsure.shares["methane"].std_dev > 50 * sure.shares["methane"].std_dev


def test_a_litre_of_air_holds_the_oxygen_of_a_third_of_a_gram_of_water():
    """1 L air at 20 °C and 101 kPa: 0.28 g oxygen, 0.31 g water at most (stoichiometry)."""
    found = trapped_oxygen(1000.0, 20.0, 101.0, Step("given/1"))
    assert found.oxygen.value == pytest.approx(0.278, abs=0.002)
    assert found.water.value == pytest.approx(0.313, abs=0.002)
    # derived: 2 CO and 1 CO2 for each O2
    assert found.carbon_monoxide.value == pytest.approx(found.oxygen.value * 2 * 28.01 / 31.9988, rel=1e-4)
    assert found.carbon_dioxide.value == pytest.approx(found.oxygen.value * 44.0095 / 31.9988, rel=1e-4)


@pytest.mark.parametrize(("name", "share"), [("argon", 0.3), ("helium", 0.05)])
@pytest.mark.parametrize("air", [0.0, 0.05])
def test_a_noble_gas_that_nobody_declared_stays_and_is_told(name, share, air):
    mixed = diluted(share, {name: 1.0}, diluted(air))
    found = product_gas(gas({"nitrogen": 0.0, "oxygen": 0.0, **mixed}), "none", "gas")
    assert not found.air_free
    told = next(one for one in found.step.cautions if one.code == "gas.air_left")
    assert told.facts["component"] == name
    assert told.facts["percent"] == pytest.approx(100 * share, abs=0.01)
    # what is product, air and that gas make up the whole
    left = (1 - share) * (1 - air) + share
    assert nominal(found.product_share) == pytest.approx(left, abs=2e-3)
    assert nominal(found.shares[name]) == pytest.approx(share / left, rel=5e-3)


def test_argon_of_the_air_goes_with_it_without_a_word():
    assert "gas.air_left" not in codes(product_gas(gas(diluted(0.3)), "none", "gas"))


def test_oxygen_that_a_nitrogen_purge_cannot_explain_is_flagged():
    """Less nitrogen than the oxygen would bring along: no amount of purge makes that."""
    found = product_gas(gas(diluted(0.2, {"nitrogen": 0.3, "oxygen": 0.7})), "nitrogen", "gas")
    assert not found.air_free
    assert "gas.oxygen_rich" in codes(found)
    assert found.air.value == pytest.approx(100 * 0.06 / 0.780848, rel=1e-9)  # no more than the nitrogen proves
    assert found.purge.value == pytest.approx(0.0, abs=1e-9)


def test_air_told_by_nitrogen_says_how_much_oxygen_it_lacks():
    burnt = diluted(0.2, {"nitrogen": 0.9, "oxygen": 0.1})
    found = product_gas(gas(burnt), "none", "gas", AirSettings(by="nitrogen"))
    told = next(one for one in found.step.cautions if one.code == "gas.air_lacks")
    # derived: 18 % nitrogen brings 18 x 0.20939 / 0.780848 of oxygen, 2 % are there
    assert told.facts["percent"] == pytest.approx(18 * 0.20939 / 0.780848 - 2, abs=0.01)
    assert "oxygen" not in found.shares and "nitrogen" not in found.shares


def test_oxygen_below_its_limit_gives_a_bound_of_the_ratio():
    mixed = {**diluted(0.2, {"nitrogen": 1.0}), "oxygen": 0.0}
    bound = product_gas(gas(mixed, limits={"oxygen": 0.002}.items()), "none", "gas")
    told = next(one for one in bound.step.cautions if one.code == "gas.oxygen_depleted")
    assert told.facts["ratio"] == "> 100"
    told = next(
        one for one in product_gas(gas(mixed), "none", "gas").step.cautions if one.code == "gas.oxygen_depleted"
    )
    assert told.facts["ratio"] == "∞"


def test_the_molar_mass_of_air_follows_from_its_composition():
    names = ("nitrogen", "oxygen", "argon", "carbon dioxide")
    mass = sum(nominal(constant(f"{name} in dry air")) * nominal(substances()[name].molar_mass) for name in names)
    assert mass == pytest.approx(28.96546, abs=0.001)
    assert sum(nominal(constant(f"{name} in dry air")) for name in names) == pytest.approx(1.0, abs=5e-4)
