"""The slab by numbers: order of temperatures, the surface balance, and that wetness only ever slows it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.trade.conduction import bessel_j, eigenvalues, fo_for, lumped_ratio, surface_to_centre, temperature_ratio
from scheduler.trade.slab import LATENT_J_PER_KG, SlabProperties, SlabStepper, Surroundings, plateau_c, run_dry

SLAB = SlabProperties(0.04, 0.48, 0.48 / 1.33e-7)


def march(around: Surroundings, wetness: float, steps: int = 240, start_c: float = 4.0) -> tuple[np.ndarray, float]:
    stepper = SlabStepper(SLAB, around, 60.0)
    temps, water = np.full(SLAB.cells + 1, start_c), 0.0
    for _ in range(steps):
        temps, lost = stepper.step(temps, wetness)
        water += lost
    return temps, water


def test_a_slab_at_air_temperature_stays_there() -> None:
    _, temps = run_dry(SLAB, Surroundings(50.0, 20.0), 50.0, 3600, 60)
    assert temps == pytest.approx(50.0)


def test_heat_gained_is_heat_let_in_less_heat_of_the_water() -> None:
    around = Surroundings(121.0, 20.0, 6000.0)
    stepper = SlabStepper(SLAB, around, 60.0)
    temps = np.full(SLAB.cells + 1, 4.0)
    mass = np.full(SLAB.cells + 1, SLAB.volume_heat * SLAB.half_thickness_m / SLAB.cells)
    mass[[0, -1]] /= 2
    start, let_in, water = float(mass @ temps), 0.0, 0.0
    for _ in range(300):
        temps, lost = stepper.step(temps, 0.2)
        let_in += 20.0 * (121.0 - float(temps[-1])) * 60.0
        water += lost
    assert float(mass @ temps) - start == pytest.approx(let_in - water * LATENT_J_PER_KG, rel=1e-9)


@given(st.floats(80, 170), st.floats(0, 0.5), st.floats(0, 0.5), st.floats(0, 40))
@settings(max_examples=25, deadline=None)
def test_wetter_is_colder_and_hotter_air_is_hotter(air_c: float, wet: float, wetter: float, hotter: float) -> None:
    here, _ = march(Surroundings(air_c, 20.0, 5000.0), wet)
    damp, _ = march(Surroundings(air_c, 20.0, 5000.0), wet + wetter)
    hot, _ = march(Surroundings(air_c + hotter, 20.0, 5000.0), wet)
    assert (damp <= here + 1e-6).all()
    assert (hot >= here - 1e-6).all()
    assert (np.diff(here) >= -1e-6).all()


def test_a_wet_surface_settles_at_its_plateau() -> None:
    around = Surroundings(121.0, 20.0, 6000.0)
    temps, water = march(around, 0.2, steps=60 * 60)
    assert temps == pytest.approx(plateau_c(around, 0.2), abs=0.1)
    assert water > 0


def test_plateau_rises_with_humidity_and_falls_with_wetness() -> None:
    dry, humid = Surroundings(121.0, 20.0, 3000.0), Surroundings(121.0, 20.0, 15000.0)
    assert plateau_c(dry, 0.2) < plateau_c(humid, 0.2)
    assert plateau_c(dry, 1.0) < plateau_c(dry, 0.2) < plateau_c(dry, 0.0) == pytest.approx(121.0)


def test_vapor_does_not_condense_on_cold_meat() -> None:
    around = Surroundings(60.0, 20.0, 15000.0)
    _, water = march(around, 0.5, steps=10)
    assert water == 0.0


def test_questions_without_answer_are_refused() -> None:
    for call, words in (
        (lambda: eigenvalues("wall", 0.0), "above 0"),
        (lambda: eigenvalues("cube", 1.0), "shape"),  # type: ignore[arg-type]
        (lambda: temperature_ratio("wall", 1.0, 1e-5), "Fo below"),
        (lambda: lumped_ratio(0.2, 1.0), "one temperature"),
        (lambda: fo_for("wall", 1.0, 1.5), "no Fo"),
        (lambda: bessel_j(0, np.array([301.0])), "300"),
    ):
        with pytest.raises(ValueError, match=words):
            call()


def test_the_surface_of_a_cylinder_and_of_a_sphere_by_the_first_term() -> None:
    for shape in ("cylinder", "sphere"):
        ratio = temperature_ratio(shape, 2.0, 1.0, 1.0) / temperature_ratio(shape, 2.0, 1.0)
        assert surface_to_centre(shape, 2.0) == pytest.approx(ratio, rel=1e-4)
