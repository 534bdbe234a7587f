"""`dampkit fit-study`: made-up runs through the fit, and a table of how right and how sure it was."""

from __future__ import annotations

import sys
from pathlib import Path

TITLE = """# Fit study

Made-up dampers on made-up benches (dampkit/virtual) through the fit: noise 1 to 8 N, 8 to 16 bits over 5 kN and 60 mm,
channel delay up to 2 ms, moving mass up to 1 kg, three programmes of stages. An interval is meant to hold the truth in
95 % of the runs. The truth of lost motion is the same measure on a bench without noise, delay and mass.
Remade with `dampkit fit-study --runs {runs} --seed {seed}`.

"""


def fit_study(runs: int, seed: int, jobs: int, out: Path) -> Path:
    """Run the study over `jobs` processes, write the table to `out`, and return the path."""
    from joblib import Parallel, delayed

    from dampkit.virtual.fit_study import run_trial, table, trials

    todo = trials(runs, seed)
    found = []
    for done, some in enumerate(Parallel(n_jobs=jobs, return_as="generator")(delayed(run_trial)(t) for t in todo), 1):
        found += some
        print(f"\r{done} of {len(todo)} benches", end="", file=sys.stderr)
    print(file=sys.stderr)
    out.parent.mkdir(parents=True, exist_ok=True)
    text = TITLE.format(runs=runs, seed=seed) + table(found)
    partial = out.with_name(out.name + ".part")
    partial.write_text(text, encoding="utf-8")
    partial.replace(out)
    return out
