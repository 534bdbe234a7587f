"""A made-up unit tested warm, with a reference that holds cold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.curves.trace import trace
from dampkit.damper.declared import DamperSpec
from dampkit.damper.identify import identify
from dampkit.damper.unit import Unit
from dampkit.studies.fault_runs import damper_file
from dampkit.studies.made import as_run
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import STANDARD_SPEEDS_M_S, standard_programme
from dampkit.virtual.rig import Rig, run_bench


def spec_at(unit: Plant) -> DamperSpec:
    """Sizes and what the unit reads when good at 20 degC."""
    return damper_file(unit)


def fitted_at(unit: Plant, temperature_c: float) -> Unit:
    """The unit's fit from a test at a temperature."""
    rig = Rig(sample_rate_hz=500.0, force_noise_n=2.0)
    warm = replace(unit, start_c=temperature_c, ambient_c=temperature_c)
    log = run_bench([warm], standard_programme(STANDARD_SPEEDS_M_S), rig, np.random.default_rng(4))[0]
    return identify(trace(as_run(log, rig)), spec_at(unit))
