"""Every remark on the data by its code, said without the figures of one test: what it means, and what to do about it."""

from __future__ import annotations

from typing import NamedTuple


class Remark(NamedTuple):
    severity: str  # note, warning or bad; two of them where the size decides
    means: str
    do: str


_ROWS: dict[str, Remark] = {
    "damaged_cells": Remark("warning", "Cells of the record hold no number where one belongs; they were left out.", "Look at the lines that are named; export the record again."),
    "cut_short": Remark("warning", "The last line of the record stops in the middle of a row, so what came after it may be missing.", "Take the record from the bench again."),
    "rows_missing": Remark("note", "Some rows of a loop lack a reading and were left out.", "Nothing, where they are few. Else look at plug, cable and logger."),
    "wild_readings": Remark("warning", "Single readings leap far off their neighbours and come back at once; they were left out.", "Look at plugs and cable."),
    "time_disorder": Remark("note", "Rows repeat a time or run back; they were left out.", "Nothing, where they are few. Else look at the logger."),
    "time_uneven": Remark("note", "The rows do not come at one rate; the times in the record were used as they are.", "Nothing."),
    "coarse_time": Remark("note", "Time is written in steps coarser than the rows; an even rate that fits it was used.", "Have the logger write more digits of time."),
    "gaps": Remark("note or warning", "Rows are missing between others; readings between were drawn straight.", "Nothing, where they are few and short. Else look at the logger."),
    "copied_rows": Remark("warning or bad", "Rows repeat earlier ones exactly, which no bench does: a part of the record was pasted in again. They were not used.", "Take the record from the bench again."),
    "time_from_rate": Remark("note", "The record has no time: it was worked out from a sample rate. Speeds are as exact as that rate, and rows that were lost would not show.", "Log a time column, or be sure of `[timing] sample_rate_hz`."),
    "time_from_turns": Remark("note", "The record has no time: speeds come from the turns of the drive that were told.", "Count the turns with a stop-watch over a minute, under load."),
    "time_unit_assumed": Remark("warning", "The time column has no unit; seconds were taken.", "State it: `[units] time`."),
    "sample_rate_disagrees": Remark("warning", "The sample rate that is told and the time column disagree; the time column was used.", "Put `[timing] sample_rate_hz` right, or take it out."),
    "unit_by_behaviour": Remark("warning", "A column has no unit; the one was taken that agrees with the other columns.", "State it in bench.toml: `[units]`."),
    "unit_assumed_force": Remark("warning", "The forces of a table have no unit; newtons were taken.", "Write the unit into the heading."),
    "unit_assumed_velocity": Remark("warning", "The speeds of a table have no unit; one was taken and is named.", "Write the unit into the heading."),
    "velocity_disagrees": Remark("warning or bad", "The velocity column is not the slope of the displacement; the displacement was used.", "Check units and signs of both, and whether stroke or half-stroke was entered for the crank."),
    "displacement_integrated": Remark("note", "Displacement was worked out from velocity, so the middle of each stroke counts as zero.", "Log displacement too; places in the stroke are known only with it."),
    "size_doubtful": Remark("warning", "Travel, force or rate of rows is of a size that a damper's test seldom has; a usual slip of unit is named where one fits.", "Check unit and range. Go on where it is right."),
    "unusual_value": Remark("warning", "A value in one of the TOML files is seldom right.", "Read the question beside it and the value again. Go on where it is right."),
    "part_not_used": Remark("warning", "One of several recordings could not be used and was passed over.", "Look at what is said of it, or leave it out."),
    "motion_not_used": Remark("warning", "It moved faster than in any stage, but those rows hold no whole cycles of one stroke and speed, or too few rows a cycle.", "Run three cycles or more at each speed, and log at least 24 rows a cycle, better 200."),
    "hand_uncertainty": Remark("note", "How well travel and time were read by hand is not told; usual values were taken.", "State yours: `[uncertainty] displacement_mm` and `time_s`."),
}  # fmt: skip

_SIGNS: dict[str, Remark] = {
    "direction_unknown": Remark("warning", "Nothing says which way is extension, so rebound and compression may be swapped.", "Pull the rod out by hand, see which way the readings go, and state it: `[signs]`."),
    "gives_work": Remark("bad", "With the signs as declared the unit would give work at every stroke. A damper takes it in.", "Pull the rod out by hand, see which way both readings go, and put `[signs]` right."),
}  # fmt: skip

_CELL: dict[str, Remark] = {
    "zero_unknown": Remark("note", "The cell's reading with nothing fitted is not told, so gas force and zero error are one number.", "Read it before each test and state it: `[zero] force_n`."),
    "zero_offset": Remark("warning", "At rest the reading is more than any gas of this kind of unit makes: the cell's zero is off.", "Read the cell with nothing fitted: `[zero] force_n`."),
    "zero_drifts": Remark("note or warning", "At rest, in like places, the force reads another value later than before: the zero drifts, or a gas charge has warmed.", "Let cell and amplifier warm up; read the cell with nothing fitted before and after."),
    "one_way_cell": Remark("bad", "In one direction the force reads one and the same value: cell or amplifier reads one way only, so that side was not measured.", "Set the amplifier to both signs; pull and push by hand and see it go up and down; test again."),
    "force_clipped": Remark("bad", "The force stays at its largest value over several rows, in several places: the end of a range cuts the peaks off.", "Choose a larger range and test again."),
    "force_held": Remark("warning or bad", "The force reading stands still while the bench moves.", "Look at plug, cable and logger; test again."),
    "force_filtered": Remark("warning", "The force alone looks filtered, which makes it late and rounds its corners.", "Switch the filter off, or filter both channels alike."),
    "channel_delay": Remark("warning", "The force channel runs behind or ahead of the displacement. Unless asked otherwise that was taken out.", "Measure it on a rigid link or a friction unit and state it: `[timing] force_delay_s`."),
    "moving_mass": Remark("note", "A mass moves between load cell and unit; its inertia was taken out.", "Put the cell at the end that stands still, or state `[fixture] moving_mass_kg`."),
    "delay_open": Remark("note", "Channel delay and moving mass could not be told from the spring of oil and bushes; they were left in.", "Run two stages whose frequencies differ by half or more."),
    "force_scale": Remark("bad", "All forces are off the reference by one factor that a wrong unit or range makes.", "Check the cell's range and unit before judging the unit."),
    "stroke_scale": Remark("bad", "All forces are those of the reference at twice or half the speed: half-stroke and stroke may be mixed up.", "Measure the stroke with a rule before judging the unit."),
    "arm_lengths_differ": Remark("bad", "The arm at which torques were read and the arm of the unit have unlike lengths.", "Give `[motion] eye_arm_mm` and `[damper] arm_length_mm` one length."),
}  # fmt: skip

_BENCH: dict[str, Remark] = {
    "bench_not_calibrated": Remark("note", "No calibration of this bench is in the book.", "Calibrate it: `dampkit book bench calibrate`."),
    "bench_calibration_overdue": Remark("bad", "The bench's calibration was due before the day of the test.", "Calibrate it, then test again."),
    "bench_calibration_failed": Remark("bad", "The bench failed its last calibration.", "Put the bench right, calibrate it, then test again."),
    "bench_check_failed": Remark("bad", "The master damper did not read what it should.", "Find out why; check again, then test again."),
    "bench_not_checked": Remark("note", "The master damper was not run on the day of the test.", "Run it each morning: `dampkit book bench check`."),
}  # fmt: skip

_STROKES: dict[str, Remark] = {
    "one_stage": Remark("warning", "The log has one stage only: valve, friction and lag cannot be told apart.", "Run a slow pass and three or more speeds."),
    "no_slow_pass": Remark("note", "There is no pass at 5 mm/s, so friction is known less well or not at all.", "Add one."),
    "no_repeat": Remark("note", "No speed was run twice, so what changed during the test does not show.", "Run the first speed again at the end."),
    "repeat_differs": Remark("warning", "Run again, one speed makes another work per cycle: unit or bench changed during the test.", "Look at temperature, mounting and drive; see whether fade or air is named."),
    "first_cycle_differs": Remark("note", "First cycles after a rest differ from those after them; they were left out.", "Stroke the unit a dozen times before testing."),
    "drive_slows": Remark("warning", "The drive slows under load, so the motion is not the calm stage's. Speeds are of the measured displacement.", "Nothing; a stronger drive or a shorter stroke would cure it."),
    "stop_met": Remark("warning", "At an end of the stroke the force springs up and lets go on the way back: something meets a stop.", "Stop. Set the middle of the stroke or shorten it. Never run a unit into its stop."),
    "no_loops": Remark("note", "A table or a test by hand has no loops: lost motion, air, play, gas charge, friction by place and fade are not looked for.", "Stroke it by hand (`hand_stroke` on the inspection sheet), or log whole strokes."),
    "one_direction": Remark("warning", "A table has forces of one direction only.", "Add the other direction."),
}  # fmt: skip

_WARM: dict[str, Remark] = {
    "no_temperature": Remark("note", "The log has no temperature.", "Hold a probe to the body, or write it down: `[files.told]`. Compare only with units that were as warm."),
    "temperature_impossible": Remark("warning", "The temperatures are none that a damper can have; they were not used.", "Check probe and unit; kelvin is stated in `[units] temperature`."),
    "temperature_stuck": Remark("warning", "The temperature stands still although the work done would warm the unit.", "See that the probe touches the body over the piston."),
    "temperature_drifts": Remark("warning", "The temperature moves without work or cooling that would explain it.", "Let the unit take the room's temperature first; check the probe."),
    "not_at_reference_temperature": Remark("note", "The unit was not as warm as its reference; it was brought there by the viscosity of a usual oil, with a wider interval.", "Test at the reference's temperature to be sure."),
}  # fmt: skip

_FIT: dict[str, Remark] = {
    "no_valve": Remark("note", "A friction damper has no valve, so none of its figures is given.", "Nothing."),
    "no_valve_fit": Remark("warning", "No stage is fast enough for the valves to be seen.", "Add speeds from 0.05 to 1.0 m/s."),
    "fit_not_converged": Remark("warning", "The fit of the valves did not settle; the curve stands as measured, without coefficients.", "Look at the other remarks; more speeds help."),
    "as_measured": Remark("note", "Leak, bleed and blow-off do not explain the curve, or the points are too few: it stands as measured.", "Nothing; readings and comparison do not hang on it."),
    "coefficients_open": Remark("note", "Some coefficients cannot be separated; the forces are known, those coefficients are not given.", "Add speeds between and beyond."),
    "two_fits": Remark("note", "Two settings of the valve explain the curve about as well.", "Add a speed between."),
    "leak_not_seen": Remark("note", "No leak is seen beside the bleed.", "Nothing."),
    "blowoff_not_reached": Remark("note", "The test does not reach the blow-off.", "Add a faster stage, if the bench is made for it."),
    "bleed_area_null": Remark("note", "No area of the bleed is given: it is not seen, or the diameters are not declared.", "Declare `piston_diameter_mm` and `rod_diameter_mm`."),
    "friction_open": Remark("note or warning", "Friction is not established, only that it is no more than a bound.", "Add a slow pass at 5 mm/s in both directions."),
    "gas_open": Remark("note", "The forces of a table are taken as read with the gas force out.", "If it is in them, add a point at 5 mm/s in each direction."),
    "side_load_not_told": Remark("note", "Whether a side load pressed on a strut's rod is not told.", "State it: `[strut] side_load_n`, 0 where the bench pulls straight."),
    "posture_in_car": Remark("warning", "In the car a twin tube lies or stands on its head, where it draws air even when its level is right.", "Fit one that may stand so, or put `[oil] vehicle_posture` right."),
    "no_side_load": Remark("note", "The strut was pulled straight; a dry guide or bush rubs only under side load.", "Test it with a side load of 300 to 1200 N across the rod."),
}  # fmt: skip

QUALITIES: dict[str, Remark] = {**_ROWS, **_SIGNS, **_CELL, **_BENCH, **_STROKES, **_WARM, **_FIT}
