"""A made-up fleet through the analysis, counted: found, missed, falsely called, and how sure."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from dampkit.app.progress import Progress
from dampkit.faults.limits import limits, limits_hash
from dampkit.files import text_output, write_all
from dampkit.frozen import frozen
from dampkit.studies.decisions import count_decisions, interval
from dampkit.studies.fault_runs import Row, batches, run_batch

MODERATE = 3.0
SURE = 0.95  # share named from which a severity counts as found
BINS = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
# what no log can show, by the physics of the kind: counted apart
UNSEEN = {
    ("monotube", "aerated_oil"): "the gas pressure keeps bubbles too small to feel",
    ("monotube", "trapped_air"): "a pocket has no way out of a monotube, and clears no more than bubbles do",
    ("lever-arm", "trapped_air"): "what the slow pass leaves is under the 1 mm that a good unit may show",
    ("twin-tube", "low_gas_pressure"): "a twin tube may be built with no charge, and no charge is declared",
    ("lever-arm", "low_oil"): "both chambers draw from one reserve: level and bubbles look alike, both are suspected",
    ("lever-arm", "aerated_oil"): "as with a low level: both are suspected",
}


@frozen
class Sizes:
    """How many: sound units in all; units a kind, fault and severity; units a kind and pair."""

    sound: int = 1600
    each: int = 10
    pairs: int = 30
    seed: int = 1


def fault_study(sizes: Sizes, jobs: int, out: Path) -> None:
    """Run the study over `jobs` processes and write its page to `out` and its table beside it, as JSON."""
    from joblib import Parallel, delayed

    todo = batches(sizes.sound, sizes.each, sizes.pairs, sizes.seed)
    progress = Progress(sum(len(b.faults) for b in todo))
    rows: list[Row] = []
    for some in Parallel(n_jobs=jobs, return_as="generator_unordered")(delayed(run_batch)(b) for b in todo):
        rows += some
        progress.step(by=len(some))
    progress.end()
    write_study(rows, sizes, out)


def write_study(rows: Sequence[Row], sizes: Sizes, out: Path) -> None:
    """Page and table of runs already made."""
    from dampkit.studies.fault_page import fault_page

    table = counted(rows, sizes)
    out.parent.mkdir(parents=True, exist_ok=True)
    texts = {out: fault_page(table), out.with_suffix(".json"): json.dumps(table, indent=1) + "\n"}
    write_all([text_output(path, text) for path, text in texts.items()])


def counted(rows: Sequence[Row], sizes: Sizes) -> dict[str, Any]:
    """All counts of a study as plain data, with the limits that it was made with."""
    single = [r for r in rows if len(r.faults) == 1]
    seen = [r for r in single if (r.kind, r.faults[0][0]) not in UNSEEN]
    moderate = [r for r in seen if r.faults[0][1] == MODERATE]
    sound = [r for r in rows if not r.faults]
    pairs = [r for r in rows if len(r.faults) == 2 and not any((r.kind, code) in UNSEEN for code, _ in r.faults)]
    return {
        "limits_hash": limits_hash(),
        "limits": limits(),
        "runs": len(rows),
        "planned": sum(len(b.faults) for b in batches(sizes.sound, sizes.each, sizes.pairs, sizes.seed)),
        "sizes": {"sound": sizes.sound, "each": sizes.each, "pairs": sizes.pairs, "seed": sizes.seed},
        "not_analysed": sum(bool(r.error) for r in rows),
        "sound": _share(sum(bool(r.found) for r in sound), len(sound)),
        "sound_by_bench": {
            b: _false_alarms([r for r in sound if r.bench == b]) for b in sorted({r.bench for r in sound})
        },
        "moderate_named_right": _share(sum(r.found == r.wanted for r in moderate), len(moderate)),
        "moderate_named_else": _share(sum(bool(r.found - r.wanted) for r in moderate), len(moderate)),
        "pairs_both": _share(sum(r.wanted <= r.found for r in pairs), len(pairs)),
        "decisions": _decisions(rows),
        "smallest": _smallest(single),
        "confusion": _confusion(rows),
        "reliability": _reliability(rows),
        "through_csv": sum(r.habit != "-" for r in rows),
    }


def _share(count: int, of: int) -> dict[str, float]:
    """A share with its 95 % interval."""
    low, high = interval(count, of)
    return {"count": count, "of": of, "share": count / of if of else 0.0, "low": low, "high": high}


def _decisions(rows: Sequence[Row]) -> dict[str, Any]:
    """Verdicts that would cost: a badly faulty unit passed, a sound one opened; and how often a retest is asked."""
    shown = [r for r in rows if not any((r.kind, code) in UNSEEN for code, _ in r.faults)]
    made = count_decisions((r.severity, r.action) for r in shown if r.action is not None)
    unseen = [r for r in rows if any((r.kind, code) in UNSEEN for code, _ in r.faults)]
    hidden = count_decisions((r.severity, r.action) for r in unseen if r.action is not None)
    return {
        "unsafe_unseen": _share(hidden.unsafe, hidden.bad),
        "unsafe": _share(made.unsafe, made.bad),
        "needless": _share(made.needless, made.sound),
        "retests": _share(made.retests, made.units),
        "retests_sound": _share(sum(r.action == "retest" for r in rows if not r.faults), made.sound),
    }


def _false_alarms(rows: Sequence[Row]) -> dict[str, float]:
    return _share(sum(bool(r.found) for r in rows), len(rows))


def _smallest(rows: Sequence[Row]) -> list[dict[str, Any]]:
    """For each kind and fault: named, by severity, and the smallest severity from which nearly all are named."""
    out = []
    for kind, code in sorted({(r.kind, r.faults[0][0]) for r in rows}):
        here = [r for r in rows if (r.kind, r.faults[0][0]) == (kind, code)]
        named, runs = Counter[float](), Counter[float]()
        for r in here:
            runs[r.faults[0][1]] += 1
            named[r.faults[0][1]] += r.wanted <= r.found
        good = [s for s in sorted(runs) if all(named[t] >= SURE * runs[t] for t in runs if t >= s)]
        out.append({
            "kind": kind,
            "fault": code,
            "named": [f"{named[s]}/{runs[s]}" for s in sorted(runs)],
            "smallest": good[0] if good else None,
            "unseen": UNSEEN.get((kind, code), ""),
        })  # fmt: skip
    return out


def _confusion(rows: Sequence[Row]) -> dict[str, dict[str, int]]:
    """What was in it (rows) against what was found, severity 3 and more and sound units; a pair counts as its own row."""
    out: dict[str, Counter[str]] = {}
    for r in rows:
        if r.faults and min(s for _, s in r.faults) < MODERATE:
            continue
        name = " + ".join(sorted(r.wanted)) or "sound"
        said = out.setdefault(name, Counter())
        said.update(r.found or {"nothing"})
    return {name: dict(sorted(said.items())) for name, said in sorted(out.items())}


def _reliability(rows: Sequence[Row]) -> list[dict[str, float]]:
    """Of the findings and suspicions given a likelihood, how many were true."""
    pairs = [(p, code in r.wanted) for r in rows for code, _, p in r.said]
    out = []
    for low, high in pairwise(BINS):
        here = [(p, true) for p, true in pairs if low <= p < high]
        if here:
            mean = sum(p for p, _ in here) / len(here)
            out.append({"given": mean, **_share(sum(true for _, true in here), len(here))})
    return out
