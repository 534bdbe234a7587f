"""The study of the advice as one page that opens offline."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import typer

import dampkit.report
from dampkit.files import check_outputs, text_output, write_all
from dampkit.report.picture import Axis, Line, Picture, Points
from dampkit.report.svg import svg, swatch
from dampkit.studies.advice import (
    FIRST_UNIT,
    FLOOR_N,
    FOUND,
    GROUPS,
    KINDS,
    PASSES,
    SET,
    SHOPS,
    TOLERANCE,
    WORK,
    Story,
    stories,
)
from dampkit.studies.decisions import interval

STYLE = Path(dampkit.report.__file__).parent / "templates" / "page.css"
EDGE_SHOWN = 8.0  # farthest distance drawn
PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Does the advised change bring a unit into its band?</title>
<style>{{ style | safe }}
.seen { max-width: 46rem; }</style>
</head>
<body>
<main>
<h1>Does the advised change bring a unit into its band?</h1>
<p>{{ head }}</p>
<p>All units are made up; no real unit has been changed in this study.</p>
<table>
{% for row in table %}{% set tag = "th" if loop.first else "td" %}
<tr>{% for cell in row %}<{{ tag }}>{{ cell }}</{{ tag }}>{% endfor %}</tr>
{% endfor %}</table>
<figure class="seen">{{ drawing }}
<ul class="legend">{% for layer in picture.legend() %}<li>{{ swatch(picture, layer) }} {{ layer.name }}</li>{% endfor %}</ul>
<figcaption>{{ picture.title }}: {{ picture.alt }}</figcaption></figure>
<h2>What was done</h2>
<ul>{% for line in method %}<li>{{ line }}</li>{% endfor %}</ul>
<h2>Units that were not inside after the last change</h2>
{% if left %}<ul>{% for line in left %}<li>{{ line }}</li>{% endfor %}</ul>{% else %}<p>None.</p>{% endif %}
</main>
</body>
</html>
"""


def write_advice_study(out: Path, units: int, jobs: int) -> None:
    """Run the study and write its page; prints the counts."""
    check_outputs([out], [])
    told = stories(units, jobs)
    write_all([text_output(out, advice_page(told))])
    typer.echo("\n".join(" | ".join(row) for row in counts(told)))
    typer.echo(f"written: {out}")


def counts(told: Sequence[Story]) -> list[tuple[str, ...]]:
    """Rows of the table: all units, what the first run said of them, and how they were made; inside after each change."""
    rows: list[tuple[str, ...]] = [("units", "how many", *(f"inside after {n} changes" for n in range(PASSES + 1)))]
    groups = [("all", list(told)), *((name, [s for s in told if s.group == name]) for name in GROUPS)]
    groups += [(name, [s for s in told if s.kind == name]) for name in KINDS]
    groups += [(shop.name, [s for s in told if s.shop == shop.name]) for shop in SHOPS]
    groups.append(("a hole open both ways", [s for s in told if s.hole_shared]))
    for name, group in groups:
        if group:
            inside = [sum(s.inside_after(n) for s in group) for n in range(PASSES + 1)]
            rows.append((name, str(len(group)), *(_share(count, len(group)) for count in inside)))
    return rows


def tuned_at_fault(told: Sequence[Story]) -> int:
    """Runs in which parts were advised for setting though a fault was found: none is right."""
    return sum(p.tuned and p.said == FOUND for s in told for p in s.passes)


def advice_page(told: Sequence[Story]) -> str:
    """HTML text of the page."""
    from jinja2 import Environment, StrictUndefined

    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True).from_string(PAGE)
    picture = _picture(told)
    return page.render(
        style=STYLE.read_text(encoding="utf-8"),
        head=_head(told),
        table=counts(told),
        picture=picture,
        drawing=svg(picture),
        swatch=swatch,
        method=_method(),
        left=[_left(s) for s in told if not s.inside_after(PASSES)],
    )


def _head(told: Sequence[Story]) -> str:
    """The two readings, side by side: units of which no fault is named, and all."""
    named = [s for s in told if s.group == SET]
    set_right, one, two = (sum(s.inside_after(n) for s in group) for n, group in ((1, named), (1, told), (2, told)))
    return (
        f"Of {len(named)} units with something surely outside and no fault named, which are the ones that are set, "
        f"{set_right} were inside after one change. Of all {len(told)}, in which most are first put back because a part "
        f"that is off looks like a fault, {one} were inside after one change and {two} after at most two. Parts were "
        f"advised for setting beside a found fault {tuned_at_fault(told)} times."
    )


def _share(count: int, of: int) -> str:
    """With the 95 % interval of the true share."""
    low, high = interval(count, of)
    return f"{count} ({100 * count / of:.1f} %, interval {100 * low:.1f} to {100 * high:.1f} %)"


def _picture(told: Sequence[Story]) -> Picture:
    """Distance from the middle of the window, ranked, before and after."""
    layers: list[Points | Line] = []
    looks = (
        ("as it came", "reference", "square"),
        ("after one change", "curve", "circle"),
        ("after two", "need", "diamond"),
    )
    for change, (name, ink, marker) in enumerate(looks):
        worst = np.sort([s.passes[change].worst for s in told if len(s.passes) > change])
        if worst.size:
            rank = np.linspace(0.0, 100.0, worst.size)
            layers.append(Points(name, rank, np.minimum(worst, EDGE_SHOWN), ink, marker))  # type: ignore[arg-type]
    layers.append(Line("edge of the window", np.array([0.0, 100.0]), np.ones(2), "ink", "dash"))
    alt = (
        "Largest true distance of each unit from the middle of its window, 1 at the edge, before and after the change."
    )
    return Picture("miss", "Distance from the middle of the window", alt, Axis("units in rank order (%)"),
                   Axis(f"largest distance, 1 = edge (cut at {EDGE_SHOWN:g})"), tuple(layers))  # fmt: skip


def _method() -> list[str]:
    return [
        f"Window: {100 * TOLERANCE:.0f} % of the sound unit's force or {FLOOR_N:g} N, whichever is more, at five speeds a direction.",
        "Each unit begins as a random sound one; bleed area, opening pressure and spring rate of each valve are then put "
        "off at random until a true force is outside the window.",
        "It is run on the made-up bench with noise, its log is written, read back and analysed, the advised parts go into "
        f"the plant with a workshop's scatter (standard deviation {', '.join(f'{100 * v:g} % {k}' for k, v in WORK.items())}), "
        "and it is run again.",
        f"The units are numbers {FIRST_UNIT} onward, none of which was used to work the advice out.",
        "History: 210 earlier units (numbers 1000 to 1209) gave 93.3 % inside after one change and 98.1 % after two. They "
        "showed that a force surely outside could be left so because a change would scatter; that was put right.",
        "By truth every unit is sound and only its setting is off. A bleed, an opening force or a spring that is far off "
        "cannot be told from dirt or wear, so that most are first called faulty or suspected: what differs is then put "
        "back to the reference (every part of both valves that differs, each once), and what is left is set at the second "
        "change. These are counted apart from the units that are set at once.",
        "A third of the units has common metric drills; a third an inch set and springs of stock, each an eighth stiffer than "
        "the last; a third shim stacks of stock, whose opening force and spring are off as one. Half of the monotubes have a "
        "plain hole, open both ways: it is off, and drilled, for both directions. The others declare their check valve.",
        "Units 2000 to 2044 were then looked at: 32 of 45 were inside after one change, 40 after two. What was put back was a "
        "bleed and an opening force alone, so that a spring of the wrong rate, or a stack of shims, was made up for by both; now "
        "rate and stack are parts that are put back, too, and a valve that no setting brings inside has its parts renewed.",
        "Earlier every monotube was advised as with a plain hole and drilled as with a check valve, and no stock was given; "
        "a part to put back that two faults named was put back twice. With those and one part put back at a time, units "
        "2100 to 2159 gave 33 inside after one change and 49 after two; with every part put back at once 43 and 55.",
        "Units 4014 to 4049 gave 31 of 36 inside after one change and 35 after two. They showed that a softer spring opens "
        "over fewer newtons, so that its knee is sharper than was foretold; now it is foretold so.",
        "Inside means: every true force within the window, and every force as analysed too.",
        "A unit for which no change was advised counts as not inside.",
    ]


def _left(story: Story) -> str:
    steps = "; ".join(f"{p.action}, {p.parts} parts advised, distance {p.worst:.2f}" for p in story.passes)
    return f"Unit {story.seed}, {story.kind}, {story.shop}: {steps}"
