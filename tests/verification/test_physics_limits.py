"""Exact limits, identities, conservation and independent numerical solutions of the physics."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_bvp
from scipy.optimize import brentq

from voidless.errors import InputError
from voidless.physics.diffusion import cylinder_mean_residual, slab_mean_residual
from voidless.physics.fill.closure import cusp_share, open_share, soft_time
from voidless.physics.fill.contact import contact_between_layers, contact_in_layer, flat_share
from voidless.physics.fill.voids import mean_excess, mean_shortfall, shortfall_probability
from voidless.physics.heat.column import column_top_temperature, layer_ripple
from voidless.physics.heat.layer import (
    excess_at_depth,
    excess_mean_of_layer,
    excess_under_hot_face,
    heat_from_hot_face,
)
from voidless.physics.melt.heating import melt_temperature_plug
from voidless.physics.optics.fresnel import plate_reflectance, plate_transmittance
from voidless.physics.shape.size import overfill_growth, shrinkage, soft_sway, softness
from voidless.physics.strength.porosity import (
    relative_strength_power,
    relative_strength_ryshkewitch_duckworth,
)
from voidless.physics.strength.weld import off_axis_strength, weld_efficiency, weld_strength
from voidless.physics.weld.healing import capped_healing, integrate_rate, rounded_healing
from voidless.physics.weld.neck import neck_angle_pokluda_1997
from voidless.physics.weld.reptation import reptation_time_doi_edwards
from voidless.physics.weld.shift import weld_rate_wlf

U = np.geomspace(0.01, 100.0, 60)


def test_series_meet_at_the_crossover():
    """Short-time and long-time forms join without a step that slopes would feel."""
    for function, tolerance in ((cylinder_mean_residual, 3e-6), (slab_mean_residual, 1e-9)):
        below, above = function([0.004 * (1 - 1e-9), 0.004 * (1 + 1e-9)])
        assert below == pytest.approx(above, abs=tolerance)


def test_layer_solution_conserves_heat():
    """The excess over all depths adds up to the layer's own."""
    for u in (0.1, 1.0, 10.0):
        total = quad(lambda d, u=u: float(excess_at_depth(u, d)), 0.0, 60.0, limit=400)[0]
        assert total == pytest.approx(1.0, abs=1e-9)


def test_mean_of_layer_is_the_integral():
    """Closed form against quadrature."""
    exact = [quad(lambda d, u=u: float(excess_at_depth(u, d)), 0.0, 1.0)[0] for u in U]
    assert excess_mean_of_layer(U) == pytest.approx(np.array(exact), abs=1e-10)


def _crank_nicolson(u_end, held):
    """A layer on a deep body by finite differences, top insulated or held: excess and heat taken in."""
    cells, depth = 2400, 24.0
    width = depth / cells
    y = (np.arange(cells) + 0.5) * width
    value = (y < 1.0).astype(float)
    steps = 2000
    ratio = u_end / steps / width**2
    lower = np.full(cells, -0.5 * ratio)
    diagonal = np.full(cells, 1.0 + ratio)
    source = np.zeros(cells)
    diagonal[0] = 1.0 + (1.5 if held else 0.5) * ratio
    if held:
        source[0] = 2.0 * ratio
    from scipy.linalg import solve_banded

    bands = np.zeros((3, cells))
    bands[0, 1:], bands[1], bands[2, :-1] = lower[1:], diagonal, lower[:-1]
    gained = 0.0
    for _ in range(steps):
        right = value.copy()
        right[1:-1] += 0.5 * ratio * (value[2:] - 2 * value[1:-1] + value[:-2])
        right[-1] += 0.5 * ratio * (value[-2] - value[-1])
        edge = 2.0 * (1.0 - value[0]) if held else 0.0
        right[0] += 0.5 * ratio * (value[1] - value[0]) + 0.5 * ratio * edge
        new = solve_banded((1, 1), bands, right + (0.5 * source if held else 0.0))
        gained += 0.5 * ratio * width * ((edge + 2.0 * (1.0 - new[0])) if held else 0.0)
        value = new
    interface = np.interp(1.0, y, value)
    return float(interface), float(gained)


@pytest.mark.parametrize("u", [0.3, 1.0])
def test_hot_face_against_finite_differences(u):
    """Interface temperature and heat taken in, held top; 0.01 cells of a layer leave 2e-3."""
    interface, gained = _crank_nicolson(u, held=True)
    assert excess_under_hot_face(u) == pytest.approx(interface, abs=2e-3)
    assert heat_from_hot_face(u) == pytest.approx(gained, abs=2e-3)


def test_free_top_against_finite_differences():
    """The same scheme with an insulated top gives the published closed form."""
    assert excess_at_depth(1.0, 1.0) == pytest.approx(_crank_nicolson(1.0, held=False)[0], abs=2e-3)


def test_column_against_a_boundary_value_solver():
    """A fin with bed at the base and hot feed at the top."""
    height, slender, k, h, flow = 0.02, 700.0, 0.2, 25.0, 30.0
    deposit, bed, air = 500.0, 350.0, 300.0
    decay = h * slender / k

    def slope(_, y):
        return np.vstack([y[1], decay * (y[0] - air)])

    def ends(base, top):
        return np.array([base[0] - bed, k * top[1] + h * (top[0] - air) - flow * (deposit - top[0])])

    nodes = np.linspace(0.0, height, 200)
    solved = solve_bvp(
        slope, ends, nodes, np.vstack([np.full(200, 320.0), np.zeros(200)]), tol=1e-6, max_nodes=100_000
    )
    found = column_top_temperature(height, slender, k, h, flow, deposit, bed, air)
    assert solved.status == 0
    assert found == pytest.approx(solved.y[0, -1], abs=1e-3)


def test_column_limits():
    """Nothing fed and no cooling: the bed's temperature; fed fast: the melt's; tall and idle: the air's."""
    flat = column_top_temperature(1e-4, 1.0, 0.2, 1e-6, 1e-9, 500.0, 350.0, 300.0)
    fast = column_top_temperature(0.02, 700.0, 0.2, 25.0, 1e9, 500.0, 350.0, 300.0)
    idle = column_top_temperature(0.5, 700.0, 0.2, 25.0, 1e-9, 500.0, 350.0, 300.0)
    assert (flat, fast, idle) == pytest.approx((350.0, 500.0, 300.0), abs=1e-3)


def test_ripple_of_layers_by_summing_them():
    """4000 layers on a deep body, each ½[erf((1-d)..)] at its interface, less their mean: within 2 % at u = 200."""
    u = 200.0
    times = u * np.arange(1, 4001)
    mean = float(np.sum(np.asarray(excess_at_depth(times, 0.0))))
    area = (
        2.0 * np.sqrt(times[-1] + 0.5 * u) / np.sqrt(np.pi) / u
    )  # ∫ dt/√(π t)/u, the mean of the same layers
    assert area - mean == pytest.approx(1.4603545 / np.sqrt(np.pi * u), rel=0.02)
    r = 1.4603545 / np.sqrt(np.pi * u)
    assert layer_ripple(u) == pytest.approx(r / (1.0 + r), rel=1e-7)


@pytest.mark.parametrize(("u", "low"), [(200.0, 0.056), (50.0, 0.107), (10.0, 0.218)])
def test_ripple_falls_short_of_its_sum(u, low):
    """As its docstring says: 6, 11 and 22 % below the sum of 200,000 layers less its mean."""
    times = u * np.arange(1, 200_001)
    exact = 2.0 * np.sqrt(times[-1] + 0.5 * u) / np.sqrt(np.pi) / u - np.sum(excess_at_depth(times, 0.0))
    assert 1.0 - float(layer_ripple(u)) / exact == pytest.approx(low, abs=0.002)


@pytest.mark.parametrize("angle", [0.05, 0.3, 0.8, 1.4])
def test_spheres_sinter_by_the_work_of_surface_tension(angle):
    """
    Γ × shrinking surface = 3 η × (strain rate)² × volume, two truncated spheres of constant volume (Frenkel's balance).

    Surface 4 π a² (1 + cos θ), strain rate d(a cos θ)/dt over a, a/a0 by the volume: differences of the angle.
    """

    def radius(t):
        return (4.0 / ((1.0 + np.cos(t)) ** 2 * (2.0 - np.cos(t)))) ** (1.0 / 3.0)

    step = 1e-5
    ends = angle + np.array([-step, step])
    surface = np.diff(4.0 * np.pi * radius(ends) ** 2 * (1.0 + np.cos(ends)))[0] / (2.0 * step)
    strain = np.diff(radius(ends) * np.cos(ends))[0] / (2.0 * step) / radius(angle)
    pace = -surface / (3.0 * strain**2 * 8.0 * np.pi / 3.0)
    # the angle's pace at one time: how much it grows there in a little scaled time
    at = brentq(lambda s: float(neck_angle_pokluda_1997(s)) - angle, 1e-6, 4.9, xtol=1e-14)
    grown = np.diff(neck_angle_pokluda_1997(at * np.array([1.0 - 1e-4, 1.0 + 1e-4])))[0] / (2e-4 * at)
    assert grown == pytest.approx(pace, rel=1e-4)


def test_plug_melt_limits():
    """Slow: the wall's temperature; fast: the feed's."""
    assert melt_temperature_plug(500.0, 298.0, [20.0, 0.0]) == pytest.approx([500.0, 298.0], abs=1e-9)


def test_shortfall_and_excess_balance():
    """Shortfall less excess is the deficit itself, everywhere, and both tend to the rigid limit."""
    deficit = np.linspace(-0.2, 0.2, 81)
    short, over = mean_shortfall(deficit, 0.01), mean_excess(deficit, 0.01)
    assert short - over == pytest.approx(deficit, abs=1e-12)
    assert np.all(short > 0.0)
    assert mean_shortfall(deficit, 1e-9) == pytest.approx(np.maximum(deficit, 0.0), abs=1e-8)


def test_shortfall_is_what_simulation_gives():
    """10⁶ normal fills: mean lack and share that lacks, within 5 standard errors."""
    rng = np.random.default_rng(7)
    lack = 0.004 + 0.01 * rng.standard_normal(1_000_000)
    assert mean_shortfall(0.004, 0.01) == pytest.approx(np.mean(np.maximum(lack, 0.0)), abs=5 * 0.0085 / 1000)
    assert shortfall_probability(0.004, 0.01) == pytest.approx(np.mean(lack > 0.0), abs=5 * 0.5 / 1000)


def test_shortfall_slope_is_the_probability():
    """d(mean)/d(deficit) = Φ, by central differences."""
    deficit = np.linspace(-0.05, 0.05, 41)
    slope = (mean_shortfall(deficit + 1e-6, 0.01) - mean_shortfall(deficit - 1e-6, 0.01)) / 2e-6
    assert slope == pytest.approx(shortfall_probability(deficit, 0.01), abs=1e-6)


def test_cusps_are_those_of_stadium_beads():
    """Share at p = w of h 0.2, w 0.45: 0.0953786; flat share of the pitch 0.6141."""
    pitch = 0.45e-3 - 0.2e-3 * (1 - np.pi / 4)
    assert cusp_share(0.2e-3, pitch) == pytest.approx(0.0953786, abs=5e-8)
    assert flat_share(0.2e-3, pitch) == pytest.approx(0.6141, abs=5e-5)


def test_closure_limits():
    """Stiff melt leaves the cusps open, thin melt closes them; a layer keeps its heat for ¼ h²/α."""
    assert open_share(1e5, 0.04, 1e12) == pytest.approx(1.0, abs=1e-6)
    assert open_share(1e5, 0.04, 1.0) < 1e-3
    assert soft_time(0.12e-3, 1e-7) == pytest.approx(0.036)


def test_contact_limits():
    """Closed: all touches. Cusps open: about the flats. More void: less."""
    assert contact_in_layer(0.0, 0.1) == 1.0
    assert contact_between_layers(0.0, 0.1, 0.6) == 1.0
    voids = np.linspace(0.0, 0.4, 41)
    assert np.all(np.diff(contact_in_layer(voids, 0.1)) < 0.0)
    layers = contact_between_layers(voids, 0.1, 0.6)
    assert np.all(np.diff(layers) < 0.0)
    assert np.all(layers > 0.0)


def test_log_linear_integral_is_exact_for_exponentials_and_converges_at_second_order():
    """Exponential: exact with one step. Polynomial rate: error falls by four when the step halves."""
    assert integrate_rate([0.0, 2.0], [1.0, np.exp(-6.0)]) == pytest.approx(
        (1 - np.exp(-6.0)) / 3.0, rel=1e-12
    )
    errors = []
    for count in (20, 40, 80):
        time = np.linspace(0.0, 1.0, count + 1)
        errors.append(abs(float(integrate_rate(time, 1.0 + time**2)) - 4.0 / 3.0))
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert orders == pytest.approx([2.0, 2.0], abs=0.1)


def test_rounded_healing_is_close_to_the_capped_one():
    """As its docstring states."""
    integral = np.geomspace(1e-6, 1e6, 400)
    capped, rounded = capped_healing(integral), rounded_healing(integral)
    assert np.max(np.abs(rounded / capped - 1.0)) < 0.043
    far = (capped < 0.6) | (integral > 1.6**4)
    assert np.max(np.abs(rounded / capped - 1.0)[far]) < 1e-3
    assert np.all(np.diff(rounded) >= 0.0)


def test_welds_stop():
    """No healing at or below the stop; above it the shift law."""
    rate = weld_rate_wlf([350.0, 360.0, 400.0], 0.5, 400.0, 10.0, 80.0, 360.0)
    assert list(rate[:2]) == [0.0, 0.0]
    assert rate[2] == pytest.approx(2.0)


def test_reptation_inverts_doi_edwards():
    """η0 = π² G τ/12."""
    time = reptation_time_doi_edwards(2000.0, 1e6)
    assert np.pi**2 * 1e6 * time / 12.0 == pytest.approx(2000.0, rel=1e-12)


def test_porosity_laws():
    """(1-.05)² = .9025, exp(-4 × .05) = .8187, exp(-7 × .05) = .7047."""
    assert relative_strength_power(0.05, 2.0) == pytest.approx(0.9025, abs=1e-12)
    assert relative_strength_ryshkewitch_duckworth(0.05, [4.0, 7.0]) == pytest.approx(
        [0.8187, 0.7047], abs=5e-5
    )


def test_weld_strength_and_efficiency():
    """Proportional while weak, the bulk's when healed enough, and never above it."""
    assert weld_strength(50.0, 0.8, 0.5, 0.9) == pytest.approx(18.0)
    assert weld_efficiency(0.06, 0.6) == pytest.approx(0.1, rel=1e-6)
    healed = weld_efficiency(np.linspace(0.0, 1.0, 101), 0.6)
    assert np.all(np.diff(healed) > 0.0)
    assert 0.99 < healed[-1] < 1.0


def test_off_axis_limits():
    """Along, across, and in between never above along."""
    angle = np.deg2rad([0.0, 90.0, 45.0])
    found = off_axis_strength(50.0, 20.0, 14.0, angle)
    assert found[:2] == pytest.approx([50.0, 20.0], rel=1e-12)
    # by hand: 1/σ² = 0.25/50² + (1/14² - 1/50²)/4 + 0.25/20²
    assert found[2] == pytest.approx(22.9385, abs=5e-4)


def test_off_axis_of_a_body_without_directions():
    """Equal strengths and von Mises' shear of 1/√3: the same at every angle; 0.7 of it makes 15 % more at 45°."""
    angle = np.linspace(0.0, np.pi, 181)
    assert off_axis_strength(50.0, 50.0, 50.0 / 3**0.5, angle) == pytest.approx(np.full(181, 50.0), rel=1e-12)
    assert off_axis_strength(50.0, 50.0, 35.0, np.pi / 4) == pytest.approx(50.0 * 1.147, rel=5e-4)


def test_off_axis_where_nothing_holds():
    """Welds that do not touch: the bead alone at 0 and 180°, nothing between; foam: at most twice the stronger."""
    found = off_axis_strength(5e7, 0.0, 0.0, np.deg2rad([0.0, 30.0, 90.0, 180.0]))
    assert found == pytest.approx([5e7, 0.0, 0.0, 5e7], rel=1e-2, abs=1e-5)
    foam = off_axis_strength(np.array([1e7, 1e6, 0.0]), 4.7e7, 3.3e7, np.deg2rad(60.0))
    assert np.all(np.isfinite(foam))
    assert np.all((foam > 0.0) & (foam <= 2.0 * 4.7e7))
    with pytest.raises(InputError, match="across is not zero or more"):
        off_axis_strength(5e7, np.nan, 1e7, 0.5)


def test_energy_of_a_plate():
    """Without absorption all light is reflected or passes."""
    index = np.linspace(1.3, 1.7, 9)
    assert plate_transmittance(index) + plate_reflectance(index) == pytest.approx(np.ones(9), abs=1e-12)


def test_size_rules():
    """Growth of one bead on two sides, shrinkage of 20 mm over 60 K, a soft step."""
    assert overfill_growth(0.4e-3, 0.05, 0.0, 2.0) == pytest.approx(0.02e-3)
    assert shrinkage(20e-3, 60e-6, 60.0) == pytest.approx(72e-6)
    assert softness([300.0, 350.0, 400.0], 350.0, 5.0) == pytest.approx([0.0, 0.5, 1.0], abs=1e-4)


def test_sway_of_a_soft_column():
    """A cantilever F L³/(3 E I) as long as a fin, L² = k A/(h P), with I = w⁴/12; powers -2.5 of w and -1.5 of h."""
    width, conductivity, film, modulus, force = 5e-3, 0.2, 20.0, 1e6, 0.5
    length = (conductivity * width**2 / (film * 4.0 * width)) ** 0.5
    bent = force * length**3 / (3.0 * modulus * width**4 / 12.0)
    sway = soft_sway(np.array([1.0, 2.0]) * width, conductivity, film, modulus, force)
    assert sway == pytest.approx([bent, bent / 2.0**2.5], rel=1e-12)
    assert soft_sway(width, conductivity, 4.0 * film, modulus, force) == pytest.approx(bent / 8.0, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: cylinder_mean_residual(-1.0), "fourier is not zero or more"),
        (lambda: cylinder_mean_residual(np.nan), "fourier is not zero or more"),
        (lambda: mean_shortfall(0.0, 0.0), "scatter is not above zero"),
        (lambda: mean_shortfall(0.0, np.nan), "scatter is not above zero"),
        (lambda: flat_share(1.0, 0.5), "share is not between 0 and 1"),
        (lambda: relative_strength_power(1.2, 2.0), "voids is not between 0 and 1"),
        (lambda: weld_strength(1.0, np.nan, 1.0, 1.0), "contact is not between"),
        (lambda: integrate_rate([0.0, 0.0], [1.0, 1.0]), "time_steps is not above zero"),
        (lambda: excess_at_depth(0.0, 1.0), "scaled_time is not above zero"),
    ],
)
def test_impossible_values_are_refused(call, match):
    """NaN and impossible values never pass a guard."""
    with pytest.raises(InputError, match=match):
        call()
