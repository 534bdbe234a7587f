"""Which column is which channel, in which unit, and how that was decided."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from dampkit.bench.cells import listed
from dampkit.bench.declared import BenchSpec
from dampkit.bench.headings import Heading, read_heading
from dampkit.bench.layout import Layout
from dampkit.bench.units import KINDS, UNITS, Kind
from dampkit.bench.words import WORDS
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen

Form = Literal["number", "clock", "sample"]


@frozen
class Channel:
    """`unit` is None where nothing says it yet; `how` is one plain phrase. `form` matters for the time alone."""

    kind: Kind
    column: int
    heading: str
    unit: str | None
    how: str
    form: Form = "number"


Channels = dict[Kind, Channel]


def assign_channels(layout: Layout, spec: BenchSpec, where: str) -> Channels:
    """A channel for each kind that the log holds.

    Raises UnreadableLog where a declared heading is not there, two columns claim one channel, or there is neither
    force nor motion.
    """
    headings = [read_heading(text, _below(layout, i)) for i, text in enumerate(layout.headings)]
    channels: Channels = {}
    for kind in KINDS:
        channel = _declared(kind, headings, layout, spec, where)
        if channel is not None:
            channels[kind] = channel
    taken = {c.column for c in channels.values()}
    for kind in KINDS:
        if kind not in channels:
            found = _guessed(kind, [(i, h) for i, h in enumerate(headings) if i not in taken], layout, where)
            if found is not None:
                channels[kind] = _with_declared_unit(found, spec)
    _require(channels, layout, headings, where)
    return channels


def _below(layout: Layout, column: int) -> str:
    return layout.units[column] if column < len(layout.units) else ""


def _with_declared_unit(channel: Channel, spec: BenchSpec) -> Channel:
    unit: str | None = getattr(spec.units, channel.kind)
    if unit is None:
        return channel
    form: Form = "clock" if channel.form == "clock" else "number"
    how = f"{channel.how}; unit from bench.toml{_against(channel.unit, unit)}"
    return replace(channel, unit=unit, how=how, form=form)


def _against(said: str | None, declared: str) -> str:
    return f", though the heading says {said}" if said and said != declared else ""


def _declared(kind: Kind, headings: list[Heading], layout: Layout, spec: BenchSpec, where: str) -> Channel | None:
    column = declared_column(kind, headings, spec, where, layout.headings)
    if column is None:
        return None
    unit = getattr(spec.units, kind) or headings[column].by_unit.get(kind)
    form: Form = _time_form(column, headings[column], layout) if kind == "time" else "number"
    said = headings[column].by_unit.get(kind)
    how = "declared in bench.toml" + (_against(said, unit) if unit else "")
    return Channel(kind, column, headings[column].text, unit, how, form)


def declared_column(
    key: str, headings: Sequence[Heading], spec: BenchSpec, where: str, as_written: Sequence[str] = ()
) -> int | None:
    """Which column bench.toml names under [columns]; None where it names none. Raises UnreadableLog where it is not one."""
    name: str | None = getattr(spec.columns, key)
    if name is None:
        return None
    wanted = name.strip().casefold()
    fitting = [i for i, h in enumerate(headings) if wanted in (h.text.casefold(), f"column {i + 1}")]
    fitting = fitting or [i for i, text in enumerate(as_written) if text.strip().casefold() == wanted]
    fitting = fitting or [i for i, h in enumerate(headings) if _bare(h.text) == wanted]
    if len(fitting) != 1:
        times = "no column" if not fitting else f"{len(fitting)} columns"
        raise UnreadableLog(
            where,
            f"{times} headed {name!r}, which bench.toml gives for the {key}; the log has {_listed(headings)}",
            "the heading as the log writes it",
            f"correct [columns] {key} in bench.toml, or give its place, as in 'column 2'",
        )
    return fitting[0]


def _bare(text: str) -> str:
    """The heading without what stands in brackets."""
    return text.split("(")[0].split("[")[0].strip().casefold()


def _listed(headings: Sequence[Heading]) -> str:
    return listed([h.text for h in headings])


def _guessed(kind: Kind, free: list[tuple[int, Heading]], layout: Layout, where: str) -> Channel | None:
    measured = [(i, h) for i, h in free if not h.not_measured]
    if kind == "time":
        return _guess_time(measured, layout, where)
    fitting = [(i, h) for i, h in measured if kind in h.channels and len(h.channels) == 1]
    by_word = [(i, h) for i, h in fitting if kind in h.by_word]
    chosen = by_word or fitting
    if kind == "temperature" and len(chosen) > 1:
        chosen = [min(chosen, key=lambda entry: _temperature_rank(entry[1]))]
    return _only_one(kind, chosen, where)


def _only_one(kind: Kind, chosen: list[tuple[int, Heading]], where: str) -> Channel | None:
    if not chosen:
        return None
    if len(chosen) > 1:
        names = " and ".join(repr(h.text) for _, h in chosen)
        raise UnreadableLog(
            where,
            f"{names} could each be the {kind}",
            f"one column for the {kind}",
            f"state it in bench.toml: [columns] {kind} = {chosen[0][1].text!r}",
        )
    column, heading = chosen[0]
    how = "by its heading" if kind in heading.by_word else "by the unit in its heading"
    return Channel(kind, column, heading.text, heading.by_unit.get(kind), how)


def _temperature_rank(heading: Heading) -> int:
    ranks = [i for i, word in enumerate(WORDS["best temperature"]) if word in heading.tokens]
    return min(ranks, default=len(WORDS["best temperature"]))


def _guess_time(free: list[tuple[int, Heading]], layout: Layout, where: str) -> Channel | None:
    """A time counted in some unit, before a clock, before a count of samples."""
    clocks = [(i, h) for i, h in free if i in layout.clock_columns]
    for form in ("time", "clock", "sample"):
        fitting = [(i, h) for i, h in free if form in h.channels and (i, h) not in clocks]
        if form == "clock" and clocks:
            fitting = clocks
        channel = _only_one("time", [e for e in fitting if form in e[1].by_word] or fitting, where)
        if channel is not None:
            shape = _time_form(channel.column, dict(free)[channel.column], layout)
            return replace(channel, form=shape, how="by its heading" if shape != "clock" else "clock times")
    return None


def _time_form(column: int, heading: Heading, layout: Layout) -> Form:
    if column in layout.clock_columns:
        return "clock"
    return "sample" if "sample" in heading.channels and not heading.by_unit else "number"


def _require(channels: Channels, layout: Layout, headings: list[Heading], where: str) -> None:
    lacking = "force" if "force" not in channels else ""
    if not lacking and "displacement" not in channels and "velocity" not in channels:
        lacking = "displacement"
    if lacking:
        found = f"no column is recognised as the {lacking}; the log has {_listed(headings)}"
        if not layout.headed:
            found = f"the {layout.width} columns have no headings, so the {lacking} cannot be told"
        raise UnreadableLog(
            where,
            found,
            f"a column with the {lacking}" + (" or the velocity" if lacking == "displacement" else ""),
            f'name it in bench.toml: [columns] {lacking} = "..."' + ("" if layout.headed else " such as 'column 2'"),
        )


def require_units(channels: Channels, where: str) -> None:
    """Raises UnreadableLog where a channel that is needed still has no unit."""
    for kind in ("force", "displacement", "velocity"):
        channel = channels.get(kind)
        if channel is not None and channel.unit is None:
            raise UnreadableLog(
                f"{where}, column {channel.heading!r}",
                f"nothing says the unit of the {kind}",
                f"one of {', '.join(UNITS[kind])}",
                f'state it in bench.toml: [units] {kind} = "{UNITS[kind][0]}"',
            )
