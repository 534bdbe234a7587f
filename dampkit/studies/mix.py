"""The mixed study: runs kept one JSON line each as they come, so that one cut short goes on where it stopped."""

from __future__ import annotations

import json
from pathlib import Path

from dampkit.app.progress import Progress
from dampkit.files import write_text
from dampkit.studies.mix_runs import groups, plan, run_group
from dampkit.studies.mix_said import Row


def mix_study(sound: int, faulty: int, seed: int, jobs: int, out: Path) -> Path:
    """Make what is still missing of the study into the lines beside `out`, and write the report of all of them to `out`."""
    from joblib import Parallel, delayed

    from dampkit.studies.mix_page import mix_page

    lines = out.with_suffix(".jsonl")
    out.parent.mkdir(parents=True, exist_ok=True)
    planned = plan(sound, faulty, seed)
    done = {row["key"] for row in read_rows(lines, seed)}
    todo = groups([run for run in planned if run.key not in done], seed)
    progress = Progress(len(planned))
    progress.step(worked=False, by=len(done))
    with lines.open("a", encoding="utf-8") as file:
        for some in Parallel(n_jobs=jobs, return_as="generator_unordered")(delayed(run_group)(g) for g in todo):
            file.writelines(json.dumps({"study": seed} | row) + "\n" for row in some)
            file.flush()
            done |= {row["key"] for row in some}
            progress.step(by=len(some))
    progress.end()
    asked = {run.key for run in planned}
    rows = [row for row in read_rows(lines, seed) if row["key"] in asked]
    return out if out == lines else write_text(out, mix_page(rows, len(planned), seed))


def read_rows(lines: Path, seed: int) -> list[Row]:
    """The runs of one seed that a file holds; a last line cut short is left out."""
    if not lines.is_file():
        return []
    rows: list[Row] = []
    for text in lines.read_text(encoding="utf-8").splitlines():
        try:
            rows.append(json.loads(text))
        except json.JSONDecodeError:
            continue
    return [row for row in rows if row["study"] == seed]
