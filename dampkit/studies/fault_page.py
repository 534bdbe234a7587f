"""The fault study as one page that opens offline."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import dampkit.report

STYLE = Path(dampkit.report.__file__).parent / "templates" / "page.css"
PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Does the analysis name the fault, and never cry wolf?</title>
<style>{{ style | safe }}</style>
</head>
<body>
<main>
<h1>Does the analysis name the fault, and never cry wolf?</h1>
<p>{{ t.runs }} made-up units on made-up benches, {{ t.through_csv }} of them through a written log and the reader.
No real unit is in this study. Shares are given with their 95 % interval.
{% if t.runs < t.planned %}The study was cut short: {{ t.planned }} runs were planned, in random order.{% endif %}</p>
<ul>
<li>False alarms on sound units, bad benches included: {{ share(t.sound) }}</li>
<li>Moderate faults (severity 3 of 5) named right and alone: {{ share(t.moderate_named_right) }}</li>
<li>Moderate faults with something else named: {{ share(t.moderate_named_else) }}</li>
<li>Two faults at once, both named: {{ share(t.pairs_both) }}</li>
<li>Logs that could not be analysed: {{ t.not_analysed }}</li>
<li>Verdict fit on a unit with a fault of severity 4 or 5: {{ share(t.decisions.unsafe) }}</li>
<li>The same with faults that no log of that kind of unit can show (below): {{ share(t.decisions.unsafe_unseen) }}</li>
<li>Verdict rebuild or replace on a sound unit: {{ share(t.decisions.needless) }}</li>
<li>Verdict retest, all units: {{ share(t.decisions.retests) }}; sound units: {{ share(t.decisions.retests_sound) }}</li>
</ul>
<p>Faults that no log of that kind of unit can show are left out of these shares and listed below with the reason.</p>
<h2>Sound units by bench</h2>
<table><tr><th>bench</th><th>false alarms</th></tr>
{% for name, s in t.sound_by_bench.items() %}<tr><td>{{ name }}</td><td>{{ share(s) }}</td></tr>
{% endfor %}</table>
<h2>Named, by severity</h2>
<p>One step of low oil is 2 mm of lost motion at 25 mm of extension, in a twin tube about 0.2 to 0.3 ml of gas under the piston.</p>
<div class="wide" tabindex="0" role="region" aria-label="Named, by severity"><table><tr><th>unit</th><th>fault</th><th>1</th><th>2</th><th>3</th><th>4</th><th>5</th><th>from which 95 % are named</th><th>remark</th></tr>
{% for r in t.smallest %}<tr><td>{{ r.kind }}</td><td>{{ r.fault }}</td>
{% for n in r.named %}<td>{{ n }}</td>{% endfor %}<td>{{ r.smallest if r.smallest else "none" }}</td><td>{{ r.unseen }}</td></tr>
{% endfor %}</table></div>
<h2>What was in it, and what was found (severity 3 and more)</h2>
<table><tr><th>in it</th><th>found</th></tr>
{% for name, said in t.confusion.items() %}<tr><td>{{ name }}</td>
<td>{% for code, n in said.items() %}{{ code }} {{ n }}{{ ", " if not loop.last }}{% endfor %}</td></tr>
{% endfor %}</table>
<h2>How sure, and how often right</h2>
<p>Suspicions and findings together, by the likelihood that was given.</p>
<figure>{{ picture | safe }}</figure>
<table><tr><th>given, mean</th><th>true</th></tr>
{% for r in t.reliability %}<tr><td>{{ "%.2f" | format(r.given) }}</td><td>{{ share(r) }}</td></tr>
{% endfor %}</table>
<h2>Made with</h2>
<p>Limits {{ t.limits_hash }}; remade with <code>python -m dampkit.studies faults OUT.html --sound {{ t.sizes.sound }} --each {{ t.sizes.each }}
--pairs {{ t.sizes.pairs }} --seed {{ t.sizes.seed }}</code>.</p>
</main>
</body>
</html>
"""


def fault_page(table: dict[str, Any]) -> str:
    """HTML text of the page of a counted study."""
    from jinja2 import Environment, StrictUndefined

    page = Environment(autoescape=True, undefined=StrictUndefined).from_string(PAGE)
    return page.render(
        t=table, share=_share, picture=_reliability(table["reliability"]), style=STYLE.read_text(encoding="utf-8")
    )


def _share(s: dict[str, float]) -> str:
    return (
        f"{100 * s['share']:.1f} % ({100 * s['low']:.1f} to {100 * s['high']:.1f} %), {s['count']:.0f} of {s['of']:.0f}"
    )


def _reliability(rows: list[dict[str, float]]) -> str:
    """Given against true, with intervals; the straight line is where they agree."""
    size, edge = 320, 40

    def at(value: float) -> float:
        return edge + (size - 2 * edge) * (value - 0.4) / 0.6

    marks = []
    for r in rows:
        x, low, high, y = (at(r["given"]), *(size - at(max(r[k], 0.4)) for k in ("low", "high", "share")))
        marks.append(f'<line x1="{x:.0f}" x2="{x:.0f}" y1="{low:.0f}" y2="{high:.0f}" stroke="#0072B2"/>')
        marks.append(f'<circle cx="{x:.0f}" cy="{y:.0f}" r="4" fill="#0072B2"/>')
    line = f'<line x1="{at(0.4)}" y1="{size - at(0.4)}" x2="{at(1)}" y2="{size - at(1)}" stroke="#555" stroke-dasharray="4"/>'
    text = (
        f'<text x="{size / 2}" y="{size - 8}" text-anchor="middle" font-size="12">likelihood given, 0.4 to 1</text>'
        f'<text x="12" y="{size / 2}" font-size="12" transform="rotate(-90 12 {size / 2})" text-anchor="middle">'
        "share true, 0.4 to 1</text>"
    )
    label = "Share true against likelihood given; the dashed line is where they agree"
    return (
        f'<svg viewBox="0 0 {size} {size}" width="{size}" role="img" aria-label="{label}">'
        f"{line}{''.join(marks)}{text}</svg>"
    )
