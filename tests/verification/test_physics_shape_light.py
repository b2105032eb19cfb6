"""Bridges, edges, closing cusps, impact and long voids against exact limits and independent solutions."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from voidless.errors import InputError
from voidless.physics.fill.closure import closing_time, open_share
from voidless.physics.fill.contact import contact_in_layer
from voidless.physics.melt.viscosity import arrhenius_factor
from voidless.physics.optics.channels import channel_scatter
from voidless.physics.optics.cylinder import cylinder_phase, cylinder_scatter
from voidless.physics.optics.surface import facet_deviation, haze_from_slopes, ridge_slope
from voidless.physics.optics.voids import void_scatter
from voidless.physics.shape.span import bridge_sag, edge_rounding, overhang_limit, soft_fluidity
from voidless.physics.strength.impact import impact_across_beads, impact_through_layers
from voidless.physics.strength.scatter import scatter_weibull_1939, size_effect_weibull_1939


def test_hole_under_pressure():
    """Radius of a round hole by its flow: da/dt = -p a/(2 η), so the area falls as exp(-p t/η)."""
    p, eta = 3e5, 2500.0
    solved = solve_ivp(lambda _, a: -p * a / (2.0 * eta), (0.0, 0.02), [1.0], rtol=1e-10, atol=1e-12)
    assert open_share(p, 0.02, eta) == pytest.approx(solved.y[0, -1] ** 2, rel=1e-8)


def test_closing_time_is_the_shorter():
    """Half the harmonic mean."""
    assert closing_time([1.0, 1.0, 1e-3], [1.0, 1e-3, 1.0]) == pytest.approx([0.5, 1e-3, 1e-3], rel=2e-3)


def test_contact_inverts_the_void_shape():
    """Rigid cusps nearly void: little touches; two shapes' geometric mean at a contact of 0.6, by hand."""
    half = 0.8
    clipped = (0.4 * half - (np.pi / 4 - 0.5 * (0.6 * half + np.arcsin(0.6)))) / (1 - np.pi / 4)
    assert contact_in_layer(np.sqrt(clipped * 0.4**2) * 0.1, 0.1) == pytest.approx(0.6, abs=1e-4)
    step = 1e-4
    below, at, above = contact_in_layer(0.63715179 * 0.1 + np.array([-step, 0.0, step]), 0.1)
    assert (at - below) == pytest.approx(above - at, rel=0.05)  # the tail continues the slope
    assert at == pytest.approx(0.3, abs=1e-4)


def test_fluidity_by_quadrature():
    """∫ dt/η along exponential cooling, in time."""
    hot, firm, air, tau, eta, at, activation = 503.0, 353.0, 300.0, 7.7, 2000.0, 513.15, 72.5e3
    end = tau * np.log((hot - air) / (firm - air))

    def thin(t):
        return 1.0 / (eta * float(arrhenius_factor(air + (hot - air) * np.exp(-t / tau), at, activation)))

    exact = quad(thin, 0.0, end)[0]
    assert soft_fluidity(hot, firm, air, tau, eta, at, activation) == pytest.approx(exact, rel=2e-3)


def test_sag_by_integration():
    """Viscous string: T = ρ g A L²/(8 δ) stretches 3 η A; strain 8 δ²/(3 L²)."""
    span, density, eta, time = 0.01, 1270.0, 2000.0, 0.8
    pull = density * 9.80665 * span**4 / (128.0 * eta)
    solved = solve_ivp(lambda _, d: pull / d**2, (0.0, time), [1e-6], rtol=1e-10, atol=1e-15)
    assert bridge_sag(span, density, time / eta) == pytest.approx(solved.y[0, -1], rel=1e-5)


def test_overhang_rule():
    """Half a bead over one layer: 64.4° for 0.5 by 0.12 mm; droop takes from it; Γ F rounds the edge."""
    limit = np.rad2deg(overhang_limit(0.12e-3, 0.5e-3, [0.0, 0.1e-3]))
    assert limit[0] == pytest.approx(np.rad2deg(np.arctan(0.25 / 0.12)))
    assert limit[1] < limit[0]
    assert edge_rounding(0.03, 2e-3) == pytest.approx(6e-5)


def test_impact_laws():
    """Squares of healing and of what is solid; never above the bulk."""
    assert impact_through_layers(0.9, 0.5, 0.5) == pytest.approx(0.1125)
    assert impact_across_beads(0.05, 2.0) == pytest.approx(0.9025)
    with pytest.raises(InputError, match="healing is not between"):
        impact_through_layers(0.9, np.nan, 0.5)


def test_weakest_link():
    """m = 1 is the exponential (1), m = 2 Rayleigh's law (√(4/π - 1)); longer chains are those of a simulation."""
    assert scatter_weibull_1939([1.0, 2.0]) == pytest.approx([1.0, np.sqrt(4.0 / np.pi - 1.0)], rel=1e-12)
    links = np.random.default_rng(3).weibull(8.0, (200_000, 6))
    chains = links.min(axis=1)
    error = 4.0 * chains.std() / np.sqrt(chains.size) / links[:, 0].mean()
    assert chains.mean() / links[:, 0].mean() == pytest.approx(
        float(size_effect_weibull_1939(6.0, 8.0)), abs=2 * error
    )
    assert chains.std() / chains.mean() == pytest.approx(float(scatter_weibull_1939(8.0)), rel=0.01)


@pytest.mark.parametrize("size", [0.5, 9.0, 45.0, 180.0, 900.0])
def test_cylinder_conserves_energy(size):
    """Without absorption what is removed is scattered, in both polarisations; the phase integrates to 1."""
    found = cylinder_scatter(1.0 / 1.57, size)
    assert found.extinction_along == pytest.approx(found.scattering_along, rel=1e-9)
    assert found.extinction_across == pytest.approx(found.scattering_across, rel=1e-9)
    angle = np.linspace(-np.pi, np.pi, 40_001)
    assert np.trapezoid(cylinder_phase(found, angle), angle) == pytest.approx(1.0, abs=1e-6)


def test_thin_cylinders_scatter_as_size_cubed():
    """
    Rayleigh: Q = π² x³ (m² - 1)²/8 with the field along the axis, π² x³ (m² - 1)²/(m² + 1)²/4 across it.

    Bohren and Huffman, section 8.4 (from memory), for x 0.01; terms of x² leave 0.1 %.
    """
    m, x = 1.0 / 1.57, 0.01
    found = cylinder_scatter(m, x)
    assert found.scattering_along == pytest.approx(np.pi**2 * x**3 * (m**2 - 1) ** 2 / 8, rel=1e-3)
    across = np.pi**2 * x**3 * (m**2 - 1) ** 2 / (m**2 + 1) ** 2 / 4
    assert found.scattering_across == pytest.approx(across, rel=1e-3)


@pytest.mark.parametrize(("index", "size"), [(0.04, 200.0), (1.0 / 1.57, 2600.0), (1.0 / 1.7, 5000.0)])
def test_cylinders_so_wide_that_inner_waves_vanish(index, size):
    """Where high orders inside are below the smallest number: energy is kept (a channel of 0.3 mm was refused)."""
    found = cylinder_scatter(index, size)
    assert found.extinction_along == pytest.approx(found.scattering_along, rel=1e-9)
    assert found.extinction_across == pytest.approx(found.scattering_across, rel=1e-9)
    assert found.scattering == pytest.approx(2.0, abs=0.15)


def test_wide_channels_tend_to_twice_their_shadow():
    """Like spheres; and their shares add up. Ripple of the last tenth remains at 60 µm."""
    channel, void = (function(60e-6, 1.57) for function in (channel_scatter, void_scatter))
    assert channel.efficiency == pytest.approx(2.0, abs=0.15)
    assert void.efficiency == pytest.approx(2.0, abs=0.15)
    for found in (channel, void):
        assert min(found.narrow, found.wide, found.lost) > 0.0
        assert found.narrow + found.wide + found.lost == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("steepest", [0.3, 1.0, np.pi / 2])
def test_ridges(steepest):
    """Mean square angle over a round ridge by quadrature; 0.684 for half circles."""
    mean = quad(lambda t: t**2 * np.cos(t), 0.0, steepest)[0] / np.sin(steepest)
    assert ridge_slope(steepest) == pytest.approx(np.sqrt(mean), rel=1e-9)


def test_flat_ridges_and_impossible_ones():
    """θ/√3 however flat (terms that cancel gave 0 below 1e-8), the two forms join, no ridge leans over."""
    flat = np.array([1e-9, 1e-6, 1e-3])
    assert ridge_slope(flat) == pytest.approx(flat / np.sqrt(3.0), rel=1e-6)
    below, above = ridge_slope([0.01 * (1 - 1e-12), 0.01 * (1 + 1e-12)])
    assert below == pytest.approx(above, rel=1e-9)
    for steepest in (0.0, 1.7, np.nan):
        with pytest.raises(InputError, match="steepest is not"):
            ridge_slope(steepest)


@pytest.mark.parametrize(
    ("degrees", "held"), [(2.0, 0.0), (5.0, 0.0), (10.0, 0.0), (15.0, 0.024), (20.0, 0.122)]
)
def test_law_of_slopes_against_exact_facets(degrees, held):
    """A million facets by Snell's law, n 1.57 in air: haze of what passes within 0.004; steeper ones hold light."""
    slopes = np.deg2rad(degrees) * np.random.default_rng(4).standard_normal((2, 1_000_000))
    bent = facet_deviation(np.arctan(np.hypot(*np.tan(slopes))), 1.57)
    passed = bent[np.isfinite(bent)]
    assert 1.0 - passed.size / 1e6 == pytest.approx(held, abs=1e-3)
    law = float(haze_from_slopes(np.deg2rad(degrees), 1.57))
    assert law == pytest.approx(np.mean(passed > np.deg2rad(2.5)), abs=4e-3)
