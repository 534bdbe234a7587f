"""Sentences about oil and gas: what is missing, how much to add, what the charge does, and the cautions of both."""

from __future__ import annotations

from dampkit.outcome.decision_record import FillRecord, GasRecord, OilRecord
from dampkit.outcome.record import EstimateRecord
from dampkit.outcome.result import Result
from dampkit.report.numbers import Writer

# of a low level: what each figure means, apart
OIL: dict[str, str] = {
    "gas": "In the working chamber are about {gas} of gas: that is what one stroke drew in, not what is missing.",
    "uncovers": "The foot valve uncovers where the rod is {place} {side} mid-stroke.",
    "measured": "Oil to add, from the fill declared less what was drained: {missing}.",
    "by the level found": "Oil to add, from the level found up to the maker's: {missing}.",
    "to the level": "Oil to add to the maker's level, by the sizes declared: {missing}.",
    "at least": "Oil to add: at least {missing}, for the foot valve to stay covered with the rod fully out; fill to the maker's level or weight.",
    "unknown": "Fill to the maker's level or weight: this log cannot tell how much is missing.",
    "level": "Fill until the oil stands {level} over the foot valve with the rod fully out.",
    "grade": "Oil that belongs in it: {grade}.",
}
FILL: dict[str, str] = {
    "no_room": "The oil swells by {swells} up to 80 °C and has {room} of air over it: too little, it would lift the seal. Leave the maker's air space.",
    "gained": "It leaves {gained} of oil heavier than it arrived.",
    "lost": "Standing, it loses {lost} of oil a day.",
    "to_level": "From the level found up to the maker's: {to_level} of oil.",
}
GAS: dict[str, str] = {
    "force": "The declared charge pushes the rod out with {cold} at 20 °C and {hot} at 80 °C in the middle of the stroke.",
    "add": "It holds {found} of {declared}: {add} are missing.",
    "recharge": "Recharge with dry nitrogen alone, never with air or oxygen, by someone licensed for it where the law asks so, with the maker's tool, a regulator and a relief valve; nobody in line with rod and valve; let all pressure off before anything is opened, and ventilate, as nitrogen displaces air.",
}
RECHARGE = "low_gas_pressure"


def oil_lines(result: Result, writer: Writer) -> list[str]:
    """What belongs beside the next step; empty where neither oil nor gas is in question."""
    out = [] if result.oil is None else _oil(result.oil, writer)
    out += [] if result.fill is None else _fill(result.fill, writer, result.oil is not None)
    low_gas = any(fault.code == RECHARGE for fault in result.faults)
    return out + ([] if result.gas is None else _gas(result.gas, writer, low_gas))


def _oil(oil: OilRecord, writer: Writer) -> list[str]:
    out = []
    if oil.gas_in_chamber_ml is not None:
        out.append(OIL["gas"].format(gas=writer.given(oil.gas_in_chamber_ml.value, "ml", 2)))
    if oil.uncovers_at_mm is not None:
        side = "further out than" if oil.uncovers_at_mm >= 0 else "further in than"
        out.append(OIL["uncovers"].format(place=writer.given(abs(oil.uncovers_at_mm), "mm", 2), side=side))
    out.append(OIL[oil.missing_is or "unknown"].format(missing=_missing(oil, writer)))
    if oil.fill_to_mm is not None:
        out.append(OIL["level"].format(level=writer.given(oil.fill_to_mm, "mm", 3)))
    return [*out, *([OIL["grade"].format(grade=oil.grade)] if oil.grade else [])]


def _missing(oil: OilRecord, writer: Writer) -> str:
    """With its interval; results of earlier versions have the value alone."""
    if oil.to_add_ml is None:
        return "" if oil.missing_ml is None else f"about {writer.given(oil.missing_ml, 'ml', 2)}"
    return writer.given(oil.to_add_ml.low, "ml", 2) if oil.missing_is == "at least" else _within(oil.to_add_ml, writer)


def _within(estimate: EstimateRecord, writer: Writer) -> str:
    low, high = (writer.given(max(x, 0.0), "ml", 2) for x in (estimate.low, estimate.high))
    return f"{low.removesuffix(' ml')} to {high}"


def _fill(fill: FillRecord, writer: Writer, is_low: bool) -> list[str]:
    out = []
    if fill.has_room is False:
        assert fill.swells_ml is not None
        assert fill.room_ml is not None
        swells, room = (writer.given(x, "ml", 2) for x in (fill.swells_ml, fill.room_ml))
        out.append(FILL["no_room"].format(swells=swells, room=room))
    if fill.gained_ml is not None:
        out.append(FILL["gained"].format(gained=writer.given(fill.gained_ml, "ml", 2)))
    if fill.lost_ml_per_day:
        out.append(FILL["lost"].format(lost=writer.given(fill.lost_ml_per_day, "ml", 2)))
    if fill.to_level_ml is not None and not is_low and fill.to_level_ml.high > 0:
        out.append(FILL["to_level"].format(to_level=_within(fill.to_level_ml, writer)))
    return out


def _gas(gas: GasRecord, writer: Writer, low: bool) -> list[str]:
    middle = [f.force_n for f in gas.forces if f.out_mm == 0.0 and f.force_n is not None]
    out = []
    if len(middle) > 1:
        cold, hot = (writer.given(force, "N", 2) for force in (middle[0], middle[-1]))
        out.append(GAS["force"].format(cold=cold, hot=hot))
    if not low:
        return []
    if gas.found_bar is not None and gas.add_bar is not None:
        found, declared, add = (
            writer.given(x, "bar", 2) for x in (gas.found_bar.value, gas.declared_bar, gas.add_bar.value)
        )
        out.append(GAS["add"].format(found=found, declared=declared, add=add))
    return [*out, GAS["recharge"]]
