"""The page of the shop's figures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from dampkit.report.picture import Axis, Picture
from dampkit.report.svg import svg
from dampkit.store.measures import MEASURES
from dampkit.store.pages import SMALL, rendered, with_chart
from dampkit.store.statistics import Followed, Share, Shop

if TYPE_CHECKING:
    from dampkit.outcome.workshop import Letterhead

NAMED = 4  # entries of each kind that a sentence names
ACTIONS = ("fit", "adjust", "rebuild", "replace", "retest", "undecided")


def render_statistics(shop: Shop, head: Letterhead | None = None) -> str:
    codes = dict.fromkeys([*shop.found, *shop.suspected])
    tables = [("Tests by month and verdict", "Month", _rows(shop.by_month.items()))]
    if shop.which.unit_type is None:
        named = [(name or "no type named", counts) for name, counts in shop.by_type.items()]
        tables.append(("Tests by unit type and verdict", "Type", _rows(named)))
    view = {
        "title": title(shop),
        "shop": shop,
        "actions": ACTIONS,
        "tables": tables,
        "faults": [(c.replace("_", " "), shop.found.get(c, 0), shop.suspected.get(c, 0)) for c in codes],
        "lasting": [come_back_sentence(shop.come_back), first_time_sentence(shop.first_time_right)],
        "figures": [_figure(followed) for followed in shop.charts],
    }
    return rendered("statistics.html", view, head)


def _rows(counted: Iterable[tuple[str, Mapping[str, int]]]) -> list[tuple[str, list[int | str]]]:
    """All tests of each name, then those of each verdict; nothing stands for none."""
    return [(name, [sum(counts.values()), *(counts.get(a, "") for a in ACTIONS)]) for name, counts in counted]


def title(shop: Shop) -> str:
    which = shop.which
    when = [f"from {which.since}"] * bool(which.since) + [f"to {which.until}"] * bool(which.until)
    what = f"Unit type {which.unit_type}" if which.unit_type else "All units"
    return ", ".join([f"{what}: {shop.tests} test{'' if shop.tests == 1 else 's'}", *when])


def come_back_sentence(share: Share) -> str:
    if share.of == 0:
        return "Coming back: no unit that passed was tested again on a later day."
    return f"Came back: {share.count} of {share.of} units that passed did not pass when tested on a later day{_percent(share)}."


def first_time_sentence(share: Share) -> str:
    if share.of == 0:
        return "Right the first time: no job has a unit that did not pass and was tested again."
    return f"Right the first time: {share.count} of {share.of} units passed at the first test after the work{_percent(share)}."


def chart_sentence(followed: Followed) -> str:
    """What a chart shows, in one plain sentence."""
    found, n = followed.chart, len(followed.values)
    if found is None:
        return f"{n} value{'' if n == 1 else 's'}: too few, or too alike, for limits."
    if found.steady:
        return f"Steady over {n} tests: all within {found.low:.3g} to {found.high:.3g} {MEASURES[followed.name].unit}."
    parts = []
    if found.out:
        parts.append(f"{len(found.out)} beyond the limits (entry {_entries(followed, found.out)})")
    if found.jumps:
        parts.append(
            f"{len(found.jumps)} jump{'' if len(found.jumps) == 1 else 's'} (entry {_entries(followed, found.jumps)})"
        )
    if found.runs:
        parts.append(f"a long run on one side up to entry {followed.entries[found.runs[-1]]}")
    return f"Not steady: {'; '.join(parts)}."


def _entries(followed: Followed, places: tuple[int, ...]) -> str:
    named = ", ".join(str(followed.entries[i]) for i in places[:NAMED])
    return named + (" ..." if len(places) > NAMED else "")


def _percent(share: Share) -> str:
    found = share.estimate
    return "" if found is None else f", {100 * found.value:.0f} % ({100 * found.low:.0f} to {100 * found.high:.0f} %)"


def _figure(followed: Followed) -> dict[str, Any]:
    said = chart_sentence(followed)
    return {"title": MEASURES[followed.name].title, "sentence": said, "drawn": svg(_picture(followed, said), SMALL)}


def _picture(followed: Followed, said: str) -> Picture:
    measure = MEASURES[followed.name]
    alt = f"{measure.title} of {len(followed.values)} tests of passed units, in order. {said}"
    bare = Picture(
        f"chart-{followed.name.replace('_', '-')}",
        measure.title,
        alt,
        Axis("test in order"),
        Axis(measure.unit),
        (),
        near=True,
    )
    return with_chart(bare, followed.values, followed.chart)
