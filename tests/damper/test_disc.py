"""A friction damper's reading on a drive with corners, against Coulomb's law in closed form."""

import numpy as np

import dampkit

FRICTION_N, STIFFNESS_N_MM, STROKE_MM = 235.0, 320.0, 50.0
SPEEDS_MM_S = (60.0, 100.0, 200.0)
ROUNDED_S = 0.015  # the drive needs so long to turn: at 200 mm/s it turns over more travel than the spring takes up


def _log() -> dict[str, np.ndarray]:
    """Triangles of one stroke with a rest between, and the force of a spring that a dry joint limits.

    Source: [rao] ch. 2 for Coulomb friction; the spring in series with it by stepping its force within plus and minus the
    friction.
    """
    dt = 1e-3
    pieces = [np.zeros(500)]
    for speed in SPEEDS_MM_S:
        period = 2 * STROKE_MM / speed
        t = np.arange(0, 5 * period, dt)
        corners = 0.25 * STROKE_MM * 4 * np.abs((t / period + 0.75) % 1.0 - 0.5) - 0.5 * STROKE_MM
        width = round(ROUNDED_S / dt)
        pieces += [
            np.convolve(np.pad(corners, width, "edge"), np.ones(width) / width, "same")[width:-width],
            np.zeros(500),
        ]
    x = np.concatenate(pieces)
    force = np.zeros_like(x)
    for i, step in enumerate(np.diff(x)):
        force[i + 1] = np.clip(force[i] + STIFFNESS_N_MM * step, -FRICTION_N, FRICTION_N)
    return {"time_s": np.arange(x.size) * dt, "displacement_mm": x, "force_n": force}


def test_the_winding_up_of_the_arm_is_not_in_the_reading_of_a_drive_with_corners() -> None:
    signs = {"force_positive": "tension", "displacement_positive": "extension"}
    run = dampkit.read_run(_log(), bench={"signs": signs, "zero": {"force_n": 0.0}})
    result = dampkit.analyse(run, damper={"damper": {"kind": "friction-disc"}})
    read = result.frames()["readings"]
    assert len(read) == 2 * len(SPEEDS_MM_S)
    np.testing.assert_allclose(read["force_n"], FRICTION_N, rtol=2e-3)
    assert result.faults == ()
