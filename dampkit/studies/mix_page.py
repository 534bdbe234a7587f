"""The report of the mixed study, as Markdown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from dampkit.faults.limits import limits_hash
from dampkit.studies.faults import MODERATE, UNSEEN
from dampkit.studies.mix_counts import (
    CONDEMNED,
    Share,
    analysed,
    bound_broken,
    calibration,
    condemned,
    found_false,
    held,
    is_sound,
    named,
    passed,
    points_held,
    share,
    showable,
    values,
    why_passed,
)
from dampkit.studies.mix_runs import wanted_codes
from dampkit.studies.mix_said import Row

ACTIONS = ("fit", "undecided", "retest", *CONDEMNED)
MADE = """Made-up units of all kinds on made-up benches (dampkit/virtual), each with a programme (one stage to ten, with and
without slow pass, repeat, temperature and declared zero, sweeps), a drive (sine, slider-crank, one that slows under load,
triangle), a shape of valve, a bench offset and flaws of its own, analysed as a whole. Most have a reference declared, some
only sizes, some nothing; a few a vehicle; a tenth goes through a written log and the reader. No real unit is in it.
A fault counts as *beyond its limits* where the plant itself is out of the limits of the guide or its true forces out of
the window of the reference; it is *looked for* where the result does not list it as not looked for. Shares are given with
their 95 % interval [clopper1934]. Remade with `python -m dampkit.studies mix OUT.md --sound {sound} --faulty {faulty}
--seed {seed}`; limits {limits}.
"""


def mix_page(rows: Sequence[Row], planned: int, seed: int) -> str:
    """Report of the runs made so far."""
    sound, faulty = [r for r in rows if is_sound(r)], [r for r in rows if not is_sound(r)]
    made = MADE.format(sound=len(sound), faulty=len(faulty), seed=seed, limits=limits_hash())
    parts = ["# Mixed study\n", made]
    if len(rows) < planned:
        parts.append(f"The study was cut short: {len(rows)} of {planned} runs.\n")
    parts += [
        *_sums(rows, sound, faulty),
        "## Sound units by programme\n",
        *_table(
            ("programme", "units", "fault found", "fault suspected", *ACTIONS, "not analysed"), _by_programme(sound)
        ),
        "## Sound units with a fault found or to be opened\n",
        *(_line(r) for r in sound if found_false(r) or condemned(r)),
        "\n## Faulty units called fit\n",
        *_passed(faulty),
        "\n## One fault, by kind: beyond its limits and looked for\n",
        *_table(("kind", "fault", "units", "named", "found", "fit", "within limits", "not looked for", "remark"), _faults(faulty)),
        "## One fault, by programme: named, of those beyond their limits and looked for; and not looked for\n",
        *_table(("programme", "named", "found", "not looked for", "else found"), _named_by_programme(faulty)),
        "## How sure, and how often right\n",
        *_table(("level", "given", "mean given", "true"), _calibration(rows)),
        "## Intervals\n",
        *_table(("programme", "friction given", "holds", "above its bound", "gas given", "holds"), _intervals(rows)),
        *_table(("units", "curve holds the truth", "reading holds the truth"), _bands(sound, faulty)),
        "## Not analysed\n",
        *(f"- {n} x {text}" for text, n in Counter(r["error"] for r in rows if r["error"]).most_common()),
        *(f"- failed: {r['key']}: {r['crash'].splitlines()[-1]}" for r in rows if r["crash"]),
        *(f"- warning: {text} ({n})" for text, n in Counter(w for r in rows for w in r["warnings"]).most_common()),
    ]  # fmt: skip
    return "\n".join(parts) + "\n"


def _sums(rows: Sequence[Row], sound: Sequence[Row], faulty: Sequence[Row]) -> Iterator[str]:
    fine, bad = analysed(sound), analysed(faulty)
    clear = [r for r in bad if showable(r)]
    moderate = [r for r in clear if r["faults"][0][1] == MODERATE]
    wrong = [r for r in bad if passed(r) and why_passed(r) == "missed"]
    lines = {
        "Sound units with a fault found": share(fine, found_false),
        "Sound units condemned (adjust, rebuild or replace)": share(fine, condemned),
        "Sound units called fit": share(fine, passed),
        "Faulty units called fit, all": share(bad, passed),
        "Faulty units called fit although the fault is beyond its limits and was looked for": Share(
            len(wrong), len(bad)
        ),
        "One fault, beyond its limits, looked for: named (found or suspected)": share(clear, _is_named),
        "The same, found": share(clear, _is_found),
        "The same at severity 3, found": share(moderate, _is_found),
        "Faulty units with another fault found": share(bad, found_false),
    }
    yield from (f"- {name}: {_share(value)}" for name, value in lines.items())
    yield (
        f"- Failures: {sum(bool(r['crash']) for r in rows)}; refused logs: {sum(bool(r['error']) for r in rows)}; "
        f"runs with a warning of the libraries: {sum(bool(r['warnings']) for r in rows)}"
    )
    mean = sum(r["made_s"] + r["analysed_s"] for r in rows) / max(len(rows), 1)
    yield f"- Processor time a run, made and analysed: {mean:.2f} s\n"


def _by_programme(rows: Sequence[Row]) -> Iterator[tuple[str, ...]]:
    for name in [*values(rows, "programme"), "all"]:
        all_here = [r for r in rows if name in ("all", r["programme"])]
        here = analysed(all_here)
        actions = Counter(r["action"] for r in here)
        suspected = share(here, lambda r: bool(named(r, "suspected")))
        counts = [suspected.count, *(actions[a] for a in ACTIONS), len(all_here) - len(here)]
        yield name, str(len(all_here)), str(share(here, found_false).count), *map(str, counts)


def _line(r: Row) -> str:
    said = ", ".join(f"{code} {level} {p:.2f}" for code, level, p in r["said"]) or "nothing"
    put_in = ", ".join(f"{code} {severity:g}" for code, severity in r["faults"]) or "sound"
    return (
        f"- {r['key']}: {r['kind']}, {put_in}; {r['programme']}, {r['drive']}, {r['valves']}, {r['papers']}: "
        f"{said}; {r['action']} ({r['step']})"
    )


def _passed(rows: Sequence[Row]) -> Iterator[str]:
    fits = [r for r in rows if passed(r)]
    yield from (f"- {why}: {n}" for why, n in sorted(Counter(why_passed(r) for r in fits).items()))
    yield "\nMissed, one by one:\n"
    yield from (_line(r) for r in fits if why_passed(r) == "missed")


def _faults(rows: Sequence[Row]) -> Iterator[tuple[str, ...]]:
    single = [r for r in analysed(rows) if len(r["faults"]) == 1]
    for kind, code in sorted({(r["kind"], r["faults"][0][0]) for r in single}):
        here = [r for r in single if (r["kind"], r["faults"][0][0]) == (kind, code)]
        why = Counter(why_passed(r) for r in here)
        clear = [r for r in here if showable(r)]
        hidden = (kind, code) in UNSEEN
        yield (
            kind, code, str(len(here)), _of(share(clear, _is_named)), _of(share(clear, _is_found)),
            str(share(here, passed).count), str(why["within limits"]), str(why["not looked for"]), "no log can show it" if hidden else "",
        )  # fmt: skip


def _named_by_programme(rows: Sequence[Row]) -> Iterator[tuple[str, ...]]:
    single = [r for r in analysed(rows) if len(r["faults"]) == 1]
    for name in values(single, "programme"):
        here = [r for r in single if r["programme"] == name]
        clear = [r for r in here if showable(r)]
        blind = sum(why_passed(r) == "not looked for" for r in here)
        yield (
            name,
            _of(share(clear, _is_named)),
            _of(share(clear, _is_found)),
            str(blind),
            _of(share(here, found_false)),
        )


def _calibration(rows: Sequence[Row]) -> Iterator[tuple[str, ...]]:
    for level in ("suspected", "found"):
        for b in calibration(rows, level):
            yield level, f"{b.low:g} to {b.high:g}", f"{b.given:.2f}", _share(b.true)


def _intervals(rows: Sequence[Row]) -> Iterator[tuple[str, ...]]:
    for name in [*values(rows, "programme"), "all"]:
        here = [r for r in analysed(rows) if name in ("all", r["programme"])]
        friction, gas = held(here, "friction"), held(here, "gas")
        if here:
            yield (
                name,
                f"{friction.of} of {len(here)}",
                _share(friction),
                _of(bound_broken(here)),
                str(gas.of),
                _share(gas),
            )


def _bands(sound: Sequence[Row], faulty: Sequence[Row]) -> Iterator[tuple[str, ...]]:
    both = [*sound, *faulty]
    by_valve = [(f"valve: {name}", [r for r in both if r["valves"] == name]) for name in values(both, "valves")]
    for name, rows in (("sound", sound), ("faulty", faulty), *by_valve):
        yield name, _share(points_held(rows, "curve")), _share(points_held(rows, "reading"))


def _is_named(r: Row) -> bool:
    return wanted_codes(r) <= named(r)


def _is_found(r: Row) -> bool:
    return wanted_codes(r) <= named(r, "found")


def _of(s: Share) -> str:
    return f"{s.count}/{s.of}"


def _share(s: Share) -> str:
    if not s.of:
        return "none"
    low, high = s.interval
    return f"{s.count} of {s.of}, {100 * s.count / s.of:.1f} % ({100 * low:.1f} to {100 * high:.1f} %)"


def _table(heads: Sequence[str], rows: Iterator[tuple[str, ...]]) -> Iterator[str]:
    yield "| " + " | ".join(heads) + " |"
    yield "|" + "---|" * len(heads)
    yield from ("| " + " | ".join(row) + " |" for row in rows)
    yield ""
