"""Heat properties by Choi and Okos (1986) and compositions of the USDA National Nutrient Database.

Compositions: SR26 (2013), NDB numbers beside each. The check rows were calculated by hand from the published component
polynomials; they pin how these were copied (some public copies flip the water or fat signs).
"""

from __future__ import annotations

import pytest

from scheduler.trade import properties as p


@pytest.mark.parametrize(
    ("composition", "temp_c", "k", "rho", "cp", "a"),
    [
        (p.BRISKET, 20, 0.4522, 1031.1, 3.337, 1.314e-7),  # NDB 13803
        (p.BRISKET, 60, 0.4862, 1016.8, 3.363, 1.422e-7),
        (p.BRISKET_LEAN, 60, None, None, None, 1.469e-7),  # NDB 13023
        (p.TURKEY_BREAST, 60, None, None, None, 1.484e-7),  # NDB 5219
        (p.FAT_TRIM, 60, 0.2635, None, 2.488, 1.124e-7),  # NDB 13019
    ],
)
def test_check_rows(
    composition: p.Composition, temp_c: float, k: float | None, rho: float | None, cp: float | None, a: float
) -> None:
    ours = p.heat_properties(composition, temp_c)
    assert ours.diffusivity == pytest.approx(a, abs=0.0006e-7)
    for value, printed, digits in ((ours.conductivity, k, 4), (ours.density, rho, 1), (ours.heat_capacity, cp, 3)):
        assert printed is None or value == pytest.approx(printed, abs=0.51 * 10**-digits)


def test_pure_water_near_room_temperature() -> None:
    # Steam tables (from memory): 4.18 kJ/kgK, 997 kg/m3, 0.607 W/mK at 25 C; this settles the disputed constant 4.1762.
    water = p.heat_properties(p.Composition(100, 0, 0), 25)
    assert water.heat_capacity == pytest.approx(4.18, abs=0.01)
    assert water.density == pytest.approx(997, rel=0.005)
    assert water.conductivity == pytest.approx(0.607, rel=0.01)


@pytest.mark.parametrize(
    ("composition", "temp_c", "measured"),
    [
        # Food diffusivity table as in the ASHRAE Refrigeration handbook, beef chuck 66 % and round 71 % water, 40-65 C.
        (p.BRISKET, 52.5, 1.23e-7),
        (p.BRISKET_LEAN, 52.5, 1.33e-7),
    ],
)
def test_predictions_run_5_to_15_per_cent_above_measured(
    composition: p.Composition, temp_c: float, measured: float
) -> None:
    assert 1.05 <= p.heat_properties(composition, temp_c).diffusivity / measured <= 1.16


def test_lean_conducts_about_two_and_a_half_times_as_well_as_fat() -> None:
    # "Meat refrigeration" textbook, ch. 13: lean about 2.5 x fat above -1.5 C. Ours: lean brisket against pure fat.
    lean = p.heat_properties(p.BRISKET_LEAN, 20).conductivity
    fat = p.heat_properties(p.Composition(0, 0, 100), 20).conductivity
    assert lean / fat == pytest.approx(2.5, rel=0.2)


def test_what_has_no_properties_is_refused() -> None:
    with pytest.raises(ValueError, match="composition"):
        p.heat_properties(p.Composition(0, 0, 0), 20)
    with pytest.raises(ValueError, match="composition"):
        p.heat_properties(p.Composition(-1, 50, 50), 20)
    with pytest.raises(ValueError, match="150 C"):
        p.heat_properties(p.BRISKET, -1)
