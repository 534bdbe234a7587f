"""A result where it was worked out: a few lines, DataFrames, plotly figures in the page's colours, a small cell."""

from __future__ import annotations

import base64
import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import dampkit
from dampkit.outcome.result import Result
from dampkit.report.document import TEMPLATES
from dampkit.report.frames import number_tables
from dampkit.report.page import big_pictures
from tests.report.made_up import low_oil, sound, unclear

MADE = (sound, low_oil, unclear)
CELL_BYTES, LINES = 20_000, 12  # a cell of a notebook should not be larger than its picture


def day_colours() -> set[str]:
    """As the style sheet has them before its dark part."""
    css = (TEMPLATES / "page.css").read_text(encoding="utf-8").split("@media")[0]
    return set(re.findall(r"--[\w-]+: ([^;]+);", css))


@pytest.mark.parametrize("made", MADE)
def test_a_result_shows_itself_in_a_few_lines(made: Callable[[], Result]) -> None:
    result = made()
    said = repr(result)
    assert str(result) == said
    assert len(said.splitlines()) <= LINES
    assert result.verdict.action in said.splitlines()[0]
    assert said.splitlines()[-1] == f" next: {result.verdict.next_step}>"
    assert all(fault.level in said for fault in result.faults)


@pytest.mark.parametrize("made", MADE)
def test_a_cell_is_small_sound_and_holds_verdict_and_picture(made: Callable[[], Result]) -> None:
    cell = made()._repr_html_()
    assert len(cell) < CELL_BYTES
    tree = ET.fromstring(
        cell.replace("<br>", "<br/>")
        .replace('">', '"/>', 0)
        .replace("<img ", "<image ")
        .replace('"></div>', '"/></div>')
    )
    assert not {"script", "style"} & {element.tag for element in tree.iter()}
    assert made().verdict.action.capitalize() in "".join(tree.itertext())
    image = tree.find(".//image")
    assert image is not None
    drawn = ET.fromstring(base64.b64decode(image.attrib["src"].split(",")[1]))
    assert drawn.tag.endswith("svg")
    assert "var(--" not in ET.tostring(drawn, encoding="unicode")
    assert image.attrib["alt"]


def test_foreign_text_is_shown_as_text() -> None:
    hostile = '<script>alert(1)</script>\N{RIGHT-TO-LEFT OVERRIDE}"'
    result = sound()
    result = result.model_copy(update={"damper": result.damper.model_copy(update={"serial": hostile})})
    assert "<script>" not in result._repr_html_()
    assert "\N{RIGHT-TO-LEFT OVERRIDE}" not in result._repr_html_() + repr(result)


@pytest.mark.parametrize("made", MADE)
def test_figures_are_those_of_the_page_in_its_colours(made: Callable[[], Result]) -> None:
    result = made()
    figures, pictures = result.figures(), {picture.id: picture for picture in big_pictures(result)}
    assert list(figures) == list(pictures)
    for name, figure in figures.items():
        text = figure.to_json()
        assert "ink:" not in text
        used = {trace.line.color for trace in figure.data if trace.line.color} | {figure.layout.paper_bgcolor}
        assert used
        assert used <= day_colours()
        assert figure.layout.xaxis.title.text == pictures[name].x_axis.text
        named = {trace.name for trace in figure.data if trace.showlegend}
        assert named == {layer.name for layer in pictures[name].legend()}


@pytest.mark.parametrize("made", MADE)
def test_frames_hold_the_numbers_of_the_result(made: Callable[[], Result]) -> None:
    result = made()
    frames, plain = result.frames(), result.to_dict()
    assert frames["stages"]["peak_velocity_m_s"].tolist() == [s["peak_velocity_m_s"] for s in plain["run"]["stages"]]
    assert frames["faults"]["code"].tolist() == [fault["code"] for fault in plain["faults"]]
    curve = plain["valve"]["rebound"]["curve"]
    of_rebound = frames["curves"].query("direction == 'rebound'")["force_n"].tolist()
    assert of_rebound == ([] if curve is None else curve["force_n"])
    for name in ("curves", "points", "loops"):
        table = number_tables(result)[name]
        assert list(frames[name].columns) == list(table.columns)
        assert frames[name].to_numpy().tolist() == [list(row) for row in table.rows]
    if plain["vehicle"] and plain["vehicle"]["ratios"]:
        wanted = [ratio["damping_ratio"]["low"] for ratio in plain["vehicle"]["ratios"]]
        assert frames["ratios"]["damping_ratio_low"].tolist() == wanted


def test_frames_have_the_same_names_and_columns_whatever_the_test_held() -> None:
    columns = [{name: list(frame.columns) for name, frame in made().frames().items()} for made in MADE]
    table = {
        "velocity m/s": [0.1, 0.3, 0.6],
        "rebound N": [400.0, 900.0, 1300.0],
        "compression N": [300.0, 500.0, 700.0],
    }
    bare = dampkit.analyse(dampkit.read_test([table])).frames()
    assert all(one == columns[0] for one in columns[1:])
    assert {name: list(frame.columns) for name, frame in bare.items()} == columns[0]
    assert all(re.fullmatch(r"[a-z0-9_]+", column) for names in columns[0].values() for column in names)


def test_needs_of_a_vehicle_show_themselves(tmp_path: Path) -> None:
    corner = {"sprung_mass_kg": 380.0, "unsprung_mass_kg": 42.0, "wheel_rate_n_mm": 30.0, "tyre_rate_n_mm": 200.0}
    car = {"corner": corner | {"damper_motion_ratio": 0.8}}
    bare = dampkit.need(car)
    wanted = dampkit.need(car | {"target": {"damping_ratio": 0.28, "rebound_share": 0.7}})
    assert "6753 N s/m" in repr(bare)  # 2 sqrt(30000 x 380) by hand
    assert bare.figures() == {}
    assert bare.frames()["need"].empty
    assert list(bare.frames()["need"].columns) == list(wanted.frames()["need"].columns)
    assert list(wanted.figures()) == ["need"]
    assert (np.diff(wanted.frames()["need"]["velocity_m_s"]) > 0).all()
    assert json.loads(wanted.figures()["need"].to_json())["data"]
