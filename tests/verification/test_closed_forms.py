"""Formulas that nothing else pins, against integrals, roots and simulations of another kind."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from voidless.errors import InputError
from voidless.measure.curves.read import Curve
from voidless.measure.moisture.climate import rate_factor
from voidless.measure.optics.colour import reduce_colour
from voidless.measure.tensile.compliance import Compliance, compliance_table, constant_compliance
from voidless.measure.tensile.strain import nominal_strain
from voidless.measure.tightness.volume import expansion_volume
from voidless.physics.heat.fin import time_constant_layer, time_constant_wall
from voidless.physics.heat.source import rise_line_rosenthal, rise_point_rosenthal
from voidless.physics.melt.density import TAIT, melt_density_tait
from voidless.physics.moisture.spool import drying_time
from voidless.physics.optics.channels import channel_depth, channel_scatter
from voidless.physics.optics.voids import scatter_table, void_scatter
from voidless.units import kelvin


@pytest.mark.parametrize("ahead", [-2e-3, -0.5e-3, 0.2e-3])
def test_a_line_source_is_a_row_of_point_sources(ahead):
    """In a whole body a point gives half of what it gives at the face of a half-space."""

    def point(z):
        reach = np.sqrt(ahead**2 + 0.3e-3**2 + z**2)
        return 0.5 * float(rise_point_rosenthal(40.0, 0.2, 1e-7, 0.004, ahead, reach))

    summed = 2.0 * quad(point, 0.0, 0.05, points=[1e-3, 5e-3], limit=400)[0]
    line = rise_line_rosenthal(40.0, 0.2, 1e-7, 0.004, ahead, np.hypot(ahead, 0.3e-3))
    assert line == pytest.approx(summed, rel=1e-6)


def test_thin_walls_cool_as_the_exact_slab():
    """First root of ζ tan ζ = Bi: time constant l²/(α ζ²) tends to the lumped one; at Bi 0.003 within Bi/3."""
    k, rho, c, coefficient, width = 0.2, 1270.0, 1250.0, 3.0, 0.4e-3
    for lumped, half in (
        (time_constant_wall(width, coefficient, rho, c), width / 2.0),
        (time_constant_layer(width, coefficient, rho, c), width),
    ):
        biot = coefficient * half / k
        root = brentq(lambda z, b=biot: z * np.tan(z) - b, 1e-9, 1.5)
        exact = half**2 / (k / (rho * c) * root**2)
        assert lumped < exact < lumped * (1.0 + biot / 2.0)
        assert exact / lumped - 1.0 == pytest.approx(biot / 3.0, rel=0.01)


# Danner and High (1993) as an open polymer library's parameter file prints them: A0, A1, A2, B0, B1, range.
PRINTED = {
    "pc": (7.9165e-4, 4.4201e-7, 2.8583e-10, 3.1268e8, 3.9728e-3, 430, 610),
    "pmma": (8.2396e-4, 3.0490e-7, 7.0201e-10, 2.9803e8, 4.3789e-3, 387, 432),
    "pp": (1.2033e-3, 4.8182e-7, 7.7589e-10, 1.4236e8, 4.0184e-3, 447, 571),
    "pa": (7.8153e-4, 3.6134e-7, 2.7519e-10, 3.4019e8, 3.8021e-3, 455, 588),
    "ps": (9.3805e-4, 3.3086e-7, 6.6910e-10, 2.5001e8, 4.1815e-3, 389, 469),
}


@pytest.mark.parametrize("polymer", PRINTED)
def test_melts_by_the_printed_constants(polymer):
    """Density at both ends of each fit, in °C and Pa, and no further."""
    a0, a1, a2, b0, b1, low, high = PRINTED[polymer]
    for at in (low, high):
        t = at - 273.15
        volume = (a0 + a1 * t + a2 * t**2) * (1 - 0.0894 * np.log(1 + 5e7 / (b0 * np.exp(-b1 * t))))
        assert melt_density_tait(polymer, float(at), 5e7) == pytest.approx(1.0 / volume, rel=1e-12)
    for outside in (low - 0.01, high + 0.01):
        with pytest.raises(InputError, match="temperature is not between"):
            melt_density_tait(polymer, outside, 5e7)
    with pytest.raises(InputError, match="pressure is not between"):
        melt_density_tait(polymer, float(low), 2.01e8)
    assert set(TAIT) == set(PRINTED)


def test_hours_of_drying():
    """1.75 mm filament: 95 % of its water is gone after 9.66e-11/D hours."""
    for diffusivity in (1e-11, 1e-12):
        hours = drying_time(0.05, diffusivity, 0.875e-3) / 3600.0
        assert hours * diffusivity == pytest.approx(9.66e-11, abs=5e-14)


def test_diffusion_by_temperature():
    """Arrhenius, 40 kJ/mol: the slope of ln D over 1/T is -E/R and 1 at 23 °C."""
    assert rate_factor(np.array([23.0]), 40e3) == pytest.approx([1.0], rel=1e-12)
    warm, cold = rate_factor(np.array([65.0, 30.0]), 40e3)
    slope = np.log(warm / cold) / (1.0 / kelvin(65.0) - 1.0 / kelvin(30.0))
    assert slope == pytest.approx(-40e3 / 8.314462618, rel=1e-9)


def test_channels_shade_as_ribbons_laid_at_random():
    """Depth of 24 layers of channels, efficiency 2, against drawn ribbons: what none of them covers."""
    width, pitch, share, layers = 20e-6, 0.5e-3, 0.3, 24
    depth = float(channel_depth(share, width, 1.0, pitch, layers))
    rng = np.random.default_rng(8)
    at, spot = rng.random((layers, 200_000)), rng.random((layers, 200_000))
    free = np.mean(np.all((at > width / pitch) | (spot > share), axis=0))
    assert np.exp(-depth) == pytest.approx(free, abs=4 * 0.5 / 200_000**0.5)
    assert channel_depth(share, width, 2.0, pitch, layers) == pytest.approx(2.0 * depth)


@pytest.mark.parametrize("scatter", [void_scatter, channel_scatter])
def test_the_table_of_sizes_is_the_mean_of_its_neighbours(scatter):
    """Sizes a factor of 1.26 apart, weighed ¼, ½, ¼; ends of the table hold beyond it; shares add up."""
    nodes = np.geomspace(0.3e-6, 60e-6, 24)
    efficiency, narrow, wide, lost = scatter_table(scatter, nodes[[4, 12]], 1.57)
    for i, at in enumerate((4, 12)):
        near = [scatter(float(nodes[k]), 1.57) for k in (at - 1, at, at + 1)]
        for column, name in ((efficiency, "efficiency"), (narrow, "narrow"), (wide, "wide"), (lost, "lost")):
            low, mid, high = (getattr(each, name) for each in near)
            assert column[i] == pytest.approx(0.25 * low + 0.5 * mid + 0.25 * high, rel=1e-9)
    assert narrow + wide + lost == pytest.approx([1.0, 1.0], abs=1e-12)
    beyond, end = scatter_table(scatter, np.array([1e-3, 60e-6]), 1.57)[0]
    assert beyond == end


def test_volume_by_expansion():
    """Ideal gas: 100 cm³ at 2 bar opened to 250 cm³ at 1 bar; the uncertainty is the scatter of drawn expansions."""
    first, second, known, unknown = 2e5, 1e5, 1e-4, 2.5e-4
    after = (first * known + second * unknown) / (known + unknown)
    volume, _ = expansion_volume(known, 0.0, [first], [second], [after])
    assert volume == pytest.approx(unknown, rel=1e-12)
    rng = np.random.default_rng(3)
    noise = 40.0 * rng.standard_normal((3, 20_000))
    drawn = [
        expansion_volume(v, 0.0, [first + a], [second + b], [after + c])[0]
        for v, a, b, c in zip(known + 2e-7 * rng.standard_normal(20_000), *noise, strict=True)
    ]
    _, stated = expansion_volume(known, 2e-7, [first], [second], [after], 40.0)
    assert stated == pytest.approx(np.std(drawn), rel=0.03)


def test_several_expansions_scatter():
    """The mean, and an uncertainty that grows where repeats differ by more than the readings explain."""
    ends = [142000.0, 143000.0, 144000.0]
    volume, unsure = expansion_volume(1e-4, 0.0, [2e5] * 3, [1e5] * 3, ends, 1.0)
    singles = [expansion_volume(1e-4, 0.0, [2e5], [1e5], [end])[0] for end in ends]
    assert volume == pytest.approx(np.mean(singles), rel=1e-12)
    # three values: Student's 4.302653 at 95 % over the normal 1.959964
    assert unsure == pytest.approx(np.std(singles, ddof=1) / 3**0.5 * 4.302653 / 1.959964, rel=1e-6)
    with pytest.raises(InputError, match="no expansion"):
        expansion_volume(1e-4, 0.0, [2e5], [1e5], [2.1e5])
    with pytest.raises(InputError, match="no expansion"):
        expansion_volume(1e-4, 0.0, [2e5], [1e5], [float("nan")])


def test_strain_after_yield_is_that_of_the_grips():
    """ISO 527-1, method B (from memory): extensometer to 4 %, then 2.3 mm of 115 mm more are 2 %."""
    strain = np.array([0.0, 0.02, 0.04, 0.05, 0.09])
    for sign in (1.0, -1.0):
        travel = sign * np.array([0.0, 3.0, 6.0, 7.15, 8.3])
        curve = Curve("bar", {"force_n": np.ones(5), "travel_mm": travel})
        found = nominal_strain(curve, strain, 115.0, 2)
        assert found == pytest.approx([0.0, 0.02, 0.04, 0.05, 0.06], abs=1e-12)
    assert nominal_strain(Curve("bar", {"force_n": np.ones(5)}), strain, 115.0, 2) is None


def test_give_of_a_machine_by_force():
    """A table is read between its forces and from 0; a constant is a line; what falls or turns back is refused."""
    table = compliance_table([100.0, 300.0], [0.05, 0.09], [0.002, 0.004])
    assert table.at(np.array([0.0, 50.0, 200.0])) == pytest.approx([0.0, 0.025, 0.07])
    assert table.uncertainty_mm == (0.0, 0.002, 0.004)
    line = constant_compliance(5e-4, 1e-5)
    assert isinstance(line, Compliance)
    assert line.at(np.array([0.0, 400.0])) == pytest.approx([0.0, 0.2])
    for force, give in (([100.0, 90.0], [0.1, 0.2]), ([100.0, 200.0], [0.2, 0.1]), ([100.0], [0.1, 0.2])):
        with pytest.raises(InputError, match="forces"):
            compliance_table(force, give)
    with pytest.raises(InputError, match="mm/N"):
        constant_compliance(float("nan"))


def test_colour_of_a_plaque_carries_its_uncertainty():
    """Browning a millimetre and both spreads against 20 000 drawn transmittances; a hazy plaque is cautioned."""
    t, u = np.array([0.88, 0.85, 0.80]), np.array([0.004, 0.003, 0.005])
    found = reduce_colour(t, u, 3.0)
    assert found.browning_per_mm == pytest.approx(np.log10(0.88 / 0.80) / 3.0, rel=1e-12)
    drawn = t + u * np.random.default_rng(6).standard_normal((20_000, 3))
    browning = np.log10(drawn[:, 0] / drawn[:, 2]) / 3.0
    assert found.browning_uncertainty == pytest.approx(browning.std(), rel=0.02)
    yellow = [reduce_colour(each, 0 * u, 3.0).yellowness for each in drawn[:3000]]
    assert found.uncertainty == pytest.approx(np.std(yellow), rel=0.05)
    assert found.yellowness == pytest.approx(np.mean(yellow), abs=0.05)
    assert not any("scatter yellows" in word for word in found.warnings)
    assert any("scatter yellows" in word for word in reduce_colour(t, u, 3.0, haze_pct=40.0).warnings)
