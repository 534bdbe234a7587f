"""A sweep of clicks or turns on one page: the curve of every setting, what is wanted, and which setting to choose."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dampkit.expected.window import USUAL_SPEEDS_M_S
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.choice import Option, Settings, Sweep
from dampkit.quantities import Estimate, with_interval
from dampkit.report.document import ALONE, Look, page_text
from dampkit.report.numbers import Writer
from dampkit.report.page import name_of
from dampkit.report.picture import Area, Layer, Line, Picture
from dampkit.report.pictures import FORCE_AXIS, SIGNS, SPEED_AXIS, look_of, with_ways
from dampkit.report.tables import Table
from dampkit.version import __version__

NONE_SUITS = (
    "The adjuster alone cannot make this unit suit: change its valve, or fit a unit that was made for this car."
)
SHOWN = 8  # settings listed, best first


def render_settings(
    found: Settings, look: Look = ALONE, *, unit: str | None, logs: Sequence[str], links: Sequence[str] = ()
) -> str:
    """The whole page; the same sweep always gives the same text. `links` are those to the pages of the runs, if any."""
    word, sentence, reasons, step = _said(found, look.writer)
    view: dict[str, Any] = {
        "unit": name_of(unit, "no serial given"),
        "word": word,
        "sentence": sentence,
        "reasons": reasons,
        "next_step": step,
        "map": map_table(found.sweep, look.writer),
        "options": options_table(found.options) if found.options else None,
        "logs": logs,
        "pages": list(zip(logs, links, strict=False)),
        "version": __version__,
    }
    return page_text("settings.html", look, [settings_picture(found, look.writer)], view)


def settings_picture(chosen: Settings, writer: Writer) -> Picture:
    """Bench force of every logged setting, with the band of what is wanted."""
    found = chosen.sweep
    layers: list[Layer] = []
    for aim in chosen.aims:
        ends = [SIGNS[aim.direction] * end for end in (aim.low_n, aim.high_n)]
        layers.append(Area("what is wanted", aim.velocity_m_s, ends[0], ends[1], "need", hatched=True))
    for n, setting in enumerate(found.settings):
        ink, dash = look_of(n)
        for way, sign in SIGNS.items():
            layers.append(Line(f"setting {setting:g}", found.velocity_m_s, sign * found.force_n[way][n], ink, dash))  # type: ignore[index]
    highest = [writer.drawn(float(forces[-1]), "N") for forces in found.force_n["rebound"]]
    tops = [f"setting {s:g}: rebound {top}" for s, top in zip(found.settings, highest, strict=True)]
    alt = f"At {writer.drawn(float(found.velocity_m_s[-1]), 'm/s')}, {', '.join(tops)}."
    title = "Bench force against piston speed by setting"
    return with_ways(Picture("force", title, alt, SPEED_AXIS, FORCE_AXIS, tuple(layers)))


def map_table(found: Sweep, writer: Writer) -> Table:
    """Force of each setting at the usual speeds that the runs reach."""
    speeds = [v for v in USUAL_SPEEDS_M_S if v <= 1.005 * found.velocity_m_s[-1]] or [float(found.velocity_m_s[-1])]
    rows = tuple(
        (
            f"{setting:g}, {way}",
            *(writer.given(float(np.interp(v, found.velocity_m_s, table[n])), "N") for v in speeds),
        )
        for n, setting in enumerate(found.settings)
        for way, table in found.force_n.items()
    )
    head = ("Setting and direction", *(writer.given(v, "m/s") for v in speeds))
    return Table("Bench force by setting, friction in, gas force out", head, rows)


def options_table(best: Sequence[Option]) -> Table:
    rows = tuple(
        (
            f"{option.setting:g}" + (", run" if option.logged else ""),
            "inside" if option.inside else "not surely inside",
            f"{100 * option.worst:.0f} %" if option.worst <= 1 else "beyond the edge",
        )
        for option in best[:SHOWN]
    )
    head = ("Setting", "Its band", "From the middle of the band (0 %) to its edge (100 %), doubt included")
    return Table("Settings, best first", head, rows, prose=True)


def _said(chosen: Settings, writer: Writer) -> tuple[str, str, list[str], str]:
    """Answer, sentence, reasons and next step."""
    sweep, first = chosen.sweep, chosen.best
    span = f"{sweep.settings[0]:g} to {sweep.settings[-1]:g}"
    logged = f"{sweep.settings.size} settings were logged, from {span}."
    if first is None:
        sentence = "No reference and no target was declared, so no setting is chosen."
        step = "Declare a known-good unit or the car, and run this again; or read the map below."
        return "No choice", sentence, [logged, _reach(sweep, writer)], step
    edge = "At its worst speed it lies beyond the edge of the band, doubt included."
    if first.inside:
        edge = f"At its worst speed it is {100 * first.worst:.0f} % of the way from the middle of the band to its edge."
    reasons = [edge, _ratio(chosen.damping_ratio, writer) or _reach(sweep, writer), logged]
    if not first.inside and (first.logged or first.plain > 1):
        ran = f" Setting {first.setting:g} was run and is not inside; it need not be run again." if first.logged else ""
        return "No setting", f"No setting from {span} brings it surely into its band.", reasons, NONE_SUITS + ran
    step = f"Set {first.setting:g}." + (
        " This setting was run, so these are its own readings; it need not be run again."
        if first.logged
        else " Run the unit once more there: between logged settings the forces were only read off in between."
    )
    if first.inside:
        return f"Set {first.setting:g}", "This setting is inside its band, doubt included.", reasons, step
    sentence = "No setting is surely inside its band; this one comes closest."
    more = "If the new run is not inside either, the valve has to be changed."
    return f"Closest: {first.setting:g}", sentence, reasons, f"{step} {more}"


def _ratio(ratio: Estimate | None, writer: Writer) -> str:
    if ratio is None:
        return ""
    return f"It gives a damping ratio of {with_interval(ratio, '')} at {writer.given(RATED_SPEED_M_S, 'm/s')}."


def _reach(found: Sweep, writer: Writer) -> str:
    """How far the adjuster moves the force at the top speed."""
    said = []
    for way, table in found.force_n.items():
        low, high = sorted((float(table[0][-1]), float(table[-1][-1])))
        said.append(f"{way} from {writer.between(low, high, 'N')}")
    return f"At {writer.given(float(found.velocity_m_s[-1]), 'm/s')} the adjuster moves {' and '.join(said)}."
