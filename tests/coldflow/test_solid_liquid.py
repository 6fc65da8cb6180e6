"""Solid-liquid equilibrium: nothing lost, always more solid in the cold, every start at the same end."""

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oils import a_waxy_oil, an_oil

from cutbook.coldflow.fixed_point import fixed_point
from cutbook.coldflow.liquid_activity import ln_liquid_activity
from cutbook.coldflow.solid_activity import interaction_per_carbon_j_mol, ln_solid_activity
from cutbook.coldflow.solid_liquid import EquilibriumSettings, appearance_k, solid_curve
from cutbook.coldflow.solid_properties import chain_solution, ln_solubility, pure_solids
from cutbook.model.cold import Components
from cutbook.model.units import GAS_CONSTANT

DEGREES = np.arange(335.0, 232.0, -1.0)
LIQUIDS = ("ideal", "free volume", "regular solution")
FORMS = ("pure solids", "solid solution", "whichever appears first")
EVERY = [EquilibriumSettings(liquid, solid) for liquid in LIQUIDS for solid in FORMS]


def named(one):
    return f"{one.liquid}, {one.solid}"


# ---- activities --------------------------------------------------------------------------------------------------


def test_wilson_by_running_sums_is_wilson_by_its_matrix():
    # Wilson 1964 written out with the full matrix, the pair energy being that of the shorter chain
    rng = np.random.default_rng(3)
    n = np.array([8.0, 12.0, 12.0, 19.0, 30.0, 44.0])
    x = rng.dirichlet(np.ones(len(n)), 4)
    t = np.array([230.0, 270.0, 300.0, 340.0])
    ours = ln_solid_activity(x, t, n)
    for row in range(4):
        per_carbon = interaction_per_carbon_j_mol() / (GAS_CONSTANT * t[row])
        wilson = np.exp(-per_carbon * np.maximum(n[:, None] - n[None, :], 0.0))
        s = wilson @ x[row]
        expected = 1.0 - np.log(s) - (x[row] / s) @ wilson
        assert ours[row] == pytest.approx(expected, abs=1e-9)


def test_the_interaction_is_a_third_of_what_one_carbon_adds_to_sublimation():
    # 3.779 kJ/mol of melting and 5.03 of vaporisation per carbon, two neighbours of six
    assert interaction_per_carbon_j_mol() == pytest.approx((3779.1 + 5030.0) / 3.0)


@pytest.mark.parametrize("form", [*LIQUIDS, "solid"])
def test_activities_obey_gibbs_and_duhem(form):
    # Σ x d ln γ = 0 along any line of compositions
    n = np.array([6.0, 10.0, 17.0, 24.0])
    x = np.array([[0.4, 0.3, 0.2, 0.1]])
    along = 1e-6 * np.array([[0.5, -1.0, 0.2, 0.3]])
    t = np.array([280.0])

    def activity(at):
        return ln_solid_activity(at, t, n) if form == "solid" else ln_liquid_activity(form, at, t, n)

    change = activity(x + along) - activity(x - along)
    assert float(np.sum(x * change)) == pytest.approx(0.0, abs=1e-12)
    if form != "ideal":
        assert np.max(np.abs(change)) > 1e-9


@pytest.mark.parametrize("form", LIQUIDS)
def test_a_pure_liquid_has_an_activity_of_one(form):
    n = np.array([10.0, 30.0])
    assert ln_liquid_activity(form, np.array([[0.0, 1.0]]), np.array([300.0]), n)[0, 1] == pytest.approx(0.0, abs=1e-12)


def test_long_chains_dissolve_better_by_free_volume_and_worse_as_a_regular_solution():
    oil = a_waxy_oil()
    ideal, free, regular = (appearance_k(oil, EquilibriumSettings(liquid)) for liquid in LIQUIDS)
    assert free < ideal < regular


# ---- equilibrium -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("which", EVERY, ids=named)
def test_mass_is_conserved_and_solid_rises_on_cooling(which):
    oil = a_waxy_oil()
    curve = solid_curve(oil, DEGREES, which)
    whole = np.asarray(curve.solid_by_component) + np.asarray(curve.liquid_by_component)
    assert np.max(np.abs(whole - np.asarray(oil.mass_fraction))) < 1e-10
    assert np.asarray(curve.solid_by_component).min() >= 0 and np.asarray(curve.liquid_by_component).min() >= 0
    assert np.all(np.diff(curve.solid) >= 0)
    assert curve.solid[-1] > curve.solid[0]


@pytest.mark.parametrize("which", EVERY, ids=named)
def test_both_phases_are_in_equilibrium(which):
    """The activity of every chain in the liquid is that of its crystal (or below, where it has none)."""
    oil = a_waxy_oil(last=36)
    curve = solid_curve(oil, [270.0], which)
    n, t = np.asarray(oil.carbons), np.array([270.0])
    order = np.argsort(n, kind="stable")
    liquid = (np.asarray(curve.liquid_by_component)[0] / oil.molar_mass)[order]
    solid = (np.asarray(curve.solid_by_component)[0] / oil.molar_mass)[order]
    x = (liquid / liquid.sum())[None]
    ordered = Components(
        n[order], tuple(oil.families[at] for at in order), oil.mass_fraction[order], oil.molar_mass[order]
    )
    ln_a = np.log(x) + ln_liquid_activity(which.liquid, x, t, n[order])
    if curve.form == "pure solids":
        distance = (ln_a - ln_solubility(t, pure_solids(ordered), which.heat_capacity))[0]
        assert np.all(distance < 1e-8)
        assert distance[solid > 1e-12] == pytest.approx(0.0, abs=1e-7)
    else:
        x_s = (solid / solid.sum())[None]
        there = x_s[0] > 1e-9
        with np.errstate(divide="ignore"):
            ln_s = (np.log(x_s) + ln_solid_activity(x_s, t, n[order]))[0, there]
        saturated = ln_solubility(t, chain_solution(ordered), which.heat_capacity)[0, there] + ln_s
        assert ln_a[0, there] - saturated == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize("which", EVERY, ids=named)
def test_the_first_solid_appears_where_the_curve_leaves_zero(which):
    oil = a_waxy_oil()
    appears = appearance_k(oil, which)
    warm, cold = solid_curve(oil, [appears + 0.02, appears - 0.02], which).solid
    assert warm == 0.0
    assert 0.0 < cold < 1e-3


def test_order_of_temperatures_and_components_does_not_matter():
    oil = a_waxy_oil(last=30)
    shuffle = np.random.default_rng(0).permutation(len(oil.carbons))
    other = Components(
        oil.carbons[shuffle],
        tuple(oil.families[at] for at in shuffle),
        oil.mass_fraction[shuffle],
        oil.molar_mass[shuffle],
    )
    straight, turned = solid_curve(oil, DEGREES), solid_curve(other, DEGREES[::-1])
    assert turned.solid[::-1] == pytest.approx(straight.solid, abs=1e-9)
    assert np.asarray(turned.solid_by_component)[::-1] == pytest.approx(
        np.asarray(straight.solid_by_component)[:, shuffle], abs=1e-9
    )


def test_whichever_appears_first_is_the_warmer_of_the_two():
    for oil in (a_waxy_oil(), an_oil({12: 0.8, 14: 0.2}), an_oil({20: 1.0}, rest=9.0)):
        alone, shared, first = (appearance_k(oil, EquilibriumSettings(solid=form)) for form in FORMS)
        assert first == pytest.approx(max(alone, shared), abs=0.4)


def test_an_oil_without_chains_never_freezes():
    oil = an_oil({}, rest=1.0)
    assert appearance_k(oil) is None
    assert solid_curve(oil, DEGREES).solid.max() == 0.0


def test_a_melt_of_chains_alone_is_all_solid_in_the_deep_cold():
    for form in FORMS:
        assert solid_curve(an_oil({28: 1.0, 30: 1.0}), [200.0], EquilibriumSettings(solid=form)).solid[0] > 1 - 1e-9


@pytest.mark.parametrize("n", [4.0, 61.0, 20.5])
def test_a_chain_outside_the_tables_is_refused(n):
    with pytest.raises(ValueError, match="outside the table"):
        appearance_k(an_oil({n: 1.0}, rest=1.0))


def test_shares_that_do_not_add_up_are_refused():
    with pytest.raises(ValueError, match="add up"):
        Components(np.array([10.0]), ("n-alkane",), np.array([0.9]), np.array([142.0]))


chains = st.dictionaries(st.integers(5, 60), st.floats(1e-6, 1.0), min_size=1, max_size=40)


@settings(max_examples=60, deadline=None)
@given(chains, st.floats(0.0, 20.0), st.floats(6.0, 30.0), st.sampled_from(LIQUIDS), st.sampled_from(FORMS))
def test_any_mixture_is_solved_loses_nothing_and_rises_on_cooling(oil, rest, rest_carbons, liquid, form):
    components = an_oil(oil, rest=rest, rest_carbons=rest_carbons)
    curve = solid_curve(components, DEGREES[::4], EquilibriumSettings(liquid, form))
    whole = np.asarray(curve.solid_by_component) + np.asarray(curve.liquid_by_component)
    assert np.max(np.abs(whole - np.asarray(components.mass_fraction))) < 1e-10
    assert np.diff(curve.solid).min() > -1e-9


@settings(max_examples=60, deadline=None)
@given(chains, st.floats(0.1, 20.0), st.floats(0.1, 20.0), st.floats(6.0, 30.0), st.sampled_from(FORMS))
def test_more_solvent_never_raises_the_appearance_temperature(oil, rest, more, rest_carbons, form):
    which = EquilibriumSettings(solid=form)
    before = appearance_k(an_oil(oil, rest=rest, rest_carbons=rest_carbons), which)
    after = appearance_k(an_oil(oil, rest=rest + more, rest_carbons=rest_carbons), which)
    assert (after or 0.0) <= (before or 0.0) + 0.4 * (form == FORMS[2]) + 1e-3


def test_two_chains_far_apart_of_which_one_is_a_trace_are_solved():
    # the longer one asks for the same change until next to nothing of it is left in the crystal: nothing to extrapolate
    which = EquilibriumSettings(solid="solid solution")
    for rest in np.geomspace(0.5, 4.0, 19):
        both = appearance_k(an_oil({15: 0.75, 38: 1e-6}, rest=rest, rest_carbons=6.0), which)
        # 15 and 38 carbons share no crystal, so the first wax is that of the shorter one alone
        assert both == pytest.approx(appearance_k(an_oil({15: 0.75}, rest=rest, rest_carbons=6.0), which), abs=1e-3)


def test_sixty_components_to_minus_forty_take_less_than_a_tenth_of_a_second():
    oil = an_oil(
        {n: float(np.exp(-(n - 8) / 6.0)) for n in range(5, 61)}, rest=40.0, alkenes={12: 1.0, 16: 1.0, 20: 0.5}
    )
    assert len(oil.carbons) == 60
    took = []
    for _ in range(5):
        begin = time.perf_counter()
        curve = solid_curve(oil, np.arange(320.0, 233.0, -1.0))
        took.append(time.perf_counter() - begin)
    assert curve.form == "solid solution" and curve.solid[-1] > 0.01
    assert min(took) < 0.1


def test_what_cannot_be_found_is_said():
    # y = y + 1 + y² has no answer among the real numbers
    with pytest.raises(ArithmeticError, match="not found"):
        fixed_point(lambda y, _: (y + 1.0 + y**2, np.ones_like(y)), np.zeros((1, 1)), 1e-10)
