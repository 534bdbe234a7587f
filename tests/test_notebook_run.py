"""A notebook, run whole by a kernel of this environment: verdict, picture, DataFrames and figures appear in its cells."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_runs"
CELLS = (
    'import dampkit\nrun = dampkit.read_run("low_oil.csv", bench="low_oil.bench.toml")\nrun',
    'result = dampkit.analyse(run, damper="low_oil.damper.toml", vehicle="low_oil.vehicle.toml")\nresult',
    'result.frames()["stages"]',
    'result.figures()["force"]',
)
MOST_BYTES = 100_000  # of a result's cell; a notebook that shows one was 71 460 characters of text before


@pytest.mark.slow
def test_a_notebook_shows_verdict_picture_tables_and_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    nbformat = pytest.importorskip("nbformat")
    client = pytest.importorskip("nbclient")
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(text) for text in CELLS])
    resources = {"metadata": {"path": str(SAMPLES)}}
    done = client.NotebookClient(made, kernel_name="python3", resources=resources, timeout=600).execute()
    run, result, stages, figure = (shown(cell) for cell in done.cells)
    assert run["text/plain"].startswith("<Run 'low_oil.csv': ")
    assert len(str(result)) < MOST_BYTES
    assert ">Rebuild</h3>" in result["text/html"]
    assert "data:image/svg+xml" in result["text/html"]
    assert result["text/plain"].splitlines()[0].endswith(": rebuild")
    assert "peak_velocity_m_s" in stages["text/html"]
    (plot,) = (value for kind, value in figure.items() if kind.startswith("application/vnd.plotly"))
    assert {trace["name"] for trace in plot["data"]}
    assert "ink:" not in str(plot)


def shown(cell: Any) -> dict[str, Any]:
    """What a cell shows, by kind; plotly may send its library in an output before the figure's."""
    outputs = [o.data for o in cell.outputs if o.output_type in ("execute_result", "display_data")]
    return {kind: value for data in outputs for kind, value in data.items()}
