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
from dampkit.studies.advice import FIRST_UNIT, FLOOR_N, KINDS, PASSES, TOLERANCE, WORK, Story, stories
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
    """Rows of the table: all units and each kind, inside after no, one and two changes."""
    rows: list[tuple[str, ...]] = [("units", "how many", *(f"inside after {n} changes" for n in range(PASSES + 1)))]
    groups = [("all", list(told)), *((kind, [s for s in told if s.kind == kind]) for kind in KINDS)]
    for name, group in groups:
        if group:
            inside = [sum(s.inside_after(n) for s in group) for n in range(PASSES + 1)]
            rows.append((name, str(len(group)), *(_share(count, len(group)) for count in inside)))
    return rows


def advice_page(told: Sequence[Story]) -> str:
    """HTML text of the page."""
    from jinja2 import Environment, StrictUndefined

    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True).from_string(PAGE)
    picture = _picture(told)
    one, two = (sum(s.inside_after(n) for s in told) for n in (1, 2))
    return page.render(
        style=STYLE.read_text(encoding="utf-8"),
        head=f"Of {len(told)} units outside their window, {one} were inside after one change and {two} after at most two.",
        table=counts(told),
        picture=picture,
        drawing=svg(picture),
        swatch=swatch,
        method=_method(),
        left=[_left(s) for s in told if not s.inside_after(PASSES)],
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
        "showed that a force surely outside could be left so because a change would scatter; that was put right, and "
        "these units are new.",
        "Inside means: every true force within the window, and every force as analysed too.",
        "A unit for which no change was advised counts as not inside.",
    ]


def _left(story: Story) -> str:
    steps = "; ".join(f"{p.action}, {p.parts} parts advised, distance {p.worst:.2f}" for p in story.passes)
    return f"Unit {story.seed}, {story.kind}: {steps}"
