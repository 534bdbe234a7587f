"""The pictures show the numbers: read back from the drawing, and accepted by plotly's own checks."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from typing import Any

import numpy as np
import pytest

from dampkit.report.interactive import figure
from dampkit.report.picture import Area, Axis, Line, Picture, Points
from dampkit.report.pictures import MOST_POINTS, force_picture, loops_picture, ratio_picture, stage_picture
from dampkit.report.svg import SMALL, WIDE, Size, svg, ticks
from tests.report.made_up import ALL, low_oil, no_valve, sound, unclear

SVG = "{http://www.w3.org/2000/svg}"


def pictures() -> list[Picture]:
    made = [
        draw for result in (make() for make in ALL.values()) for draw in (force_picture(result), loops_picture(result))
    ]
    return [
        picture
        for picture in (*made, ratio_picture(sound().vehicle), stage_picture(low_oil().run.stages[4]))
        if picture
    ]


def scale(root: ET.Element, anchor: str, place: str) -> tuple[float, float]:
    """Slope and offset from drawing units to numbers, from the printed tick labels alone."""
    groups = [g for g in root.iter(f"{SVG}g") if g.get("class") == "tick" and g.get("text-anchor") == anchor]
    marks = [text for group in groups for text in group]
    at = [float(mark.get(place, "")) for mark in marks]
    value = [float((mark.text or "").replace("\N{MINUS SIGN}", "-")) for mark in marks]
    slope, offset = np.polyfit(at, value, 1)
    return float(slope), float(offset)


@pytest.mark.parametrize("size", [WIDE, SMALL])
def test_a_drawn_curve_reads_back_against_the_printed_scales(size: Size) -> None:
    x, y = np.linspace(0, 1.3, 40), -350.0 + 900.0 * np.linspace(0, 1.3, 40) ** 2
    root = ET.fromstring(svg(Picture("p", "t", "a", Axis("x"), Axis("y"), (Line("l", x, y, "curve"),)), size))
    path = next(p for p in root.iter(f"{SVG}path") if "stroke-dasharray" in p.attrib)
    drawn = np.array(re.findall(r"([-\d.]+) ([-\d.]+)", path.get("d", "")), dtype=float)
    (ax, bx), (ay, by) = scale(root, "middle", "x"), scale(root, "end", "y")
    np.testing.assert_allclose(ax * drawn[:, 0] + bx, x, atol=1.3 / 100)
    np.testing.assert_allclose(ay * drawn[:, 1] + by, y, atol=1500 / 100)


@pytest.mark.parametrize(("low", "high"), [(0, 1), (-1234, 5678), (0, 3e-5), (-0.001, 0.002), (0, 9.99e6)])
def test_ticks_are_round_inside_and_neither_few_nor_many(low: float, high: float) -> None:
    marks = ticks(low, high, 6)
    step = np.diff(marks)
    lead = float(f"{step[0]:e}".split("e")[0])
    assert 3 <= marks.size <= 8
    assert low - 1e-9 * abs(high) <= marks.min()
    assert marks.max() <= high * (1 + 1e-9)
    assert round(lead, 6) in (1.0, 2.0, 5.0, 10.0)
    np.testing.assert_allclose(step, step[0])


@pytest.mark.parametrize("picture", pictures(), ids=lambda picture: picture.title)
def test_still_pictures_are_xml_with_title_description_and_no_bad_number(picture: Picture) -> None:
    text = str(svg(picture))
    root = ET.fromstring(text)
    assert root[0].text == picture.title
    assert root[1].text == picture.alt
    assert not re.search(r"\b(nan|inf)\b", text)


@pytest.mark.parametrize("picture", pictures(), ids=lambda picture: picture.title)
def test_interactive_pictures_pass_the_checks_of_plotly(picture: Picture) -> None:
    from plotly import graph_objects

    def coloured(part: Any) -> Any:
        if isinstance(part, dict):
            return {key: coloured(value) for key, value in part.items()}
        if isinstance(part, list):
            return [coloured(value) for value in part]
        return "#123456" if isinstance(part, str) and part.startswith("ink:") else part

    plain = json.loads(json.dumps(figure(picture), allow_nan=False))
    drawn = graph_objects.Figure(coloured(plain))
    assert len(drawn.data) == len(picture.layers)


def test_meaning_never_hangs_on_colour_alone() -> None:
    for picture in pictures():
        looks = []
        for layer in picture.legend():
            if isinstance(layer, Area):
                looks.append(("area", str(layer.hatched)))
            elif isinstance(layer, Points):
                looks.append((layer.marker, str(layer.hollow)))
            elif picture.id != "loops":  # loops differ by size and by a legend that names ink and dash together
                looks.append(("line", layer.dash))
        assert len(looks) == len(set(looks)), picture.title


def test_rebound_is_drawn_above_zero_and_compression_below() -> None:
    picture = force_picture(sound())
    assert picture is not None
    curves = [layer for layer in picture.layers if isinstance(layer, Line)]
    assert [bool(np.all(curve.y >= 0)) for curve in curves] == [True, False]
    assert curves[1].y.max() <= 0


def test_bands_with_friction_in_are_drawn_with_it_taken_off() -> None:
    result, picture = sound(), force_picture(sound())
    assert picture is not None
    assert result.reference is not None
    drawn = next(layer for layer in picture.layers if isinstance(layer, Points) and layer.marker == "diamond")
    np.testing.assert_allclose(drawn.y, [p.reference_n - 25.0 for p in result.reference if p.direction == "rebound"])


def test_few_marks_are_drawn_and_all_of_them_were_measured() -> None:
    result, picture = sound(), force_picture(sound())
    assert picture is not None
    points = result.valve.rebound.points
    assert points is not None
    drawn = next(layer for layer in picture.layers if layer.name == "measured")
    assert isinstance(drawn, Points)
    assert 0 < drawn.x.size <= MOST_POINTS
    measured = set(zip(points.velocity_m_s, points.force_n, strict=True))
    assert set(zip(drawn.x.tolist(), drawn.y.tolist(), strict=True)) <= measured


def test_a_unit_without_valves_shows_the_highest_forces_instead() -> None:
    picture = force_picture(unclear())
    assert picture is not None
    assert "Highest force" in picture.title
    assert {layer.name for layer in picture.layers} == {"highest force of a stage (friction and gas in)"}


def test_one_direction_alone_is_drawn_alone() -> None:
    half = sound().model_copy(
        update={"valve": sound().valve.model_copy(update={"compression": no_valve()}), "reference": None}
    )
    picture = force_picture(half.model_copy(update={"vehicle": None}))
    assert picture is not None
    assert "No compression curve was established." in picture.alt
    assert sum(isinstance(layer, Line) for layer in picture.layers) == 1


def test_a_hopelessly_wide_interval_does_not_flatten_the_curve() -> None:
    result = sound()
    curve = result.valve.rebound.curve
    assert curve is not None
    wide = curve.model_copy(
        update={"high_n": tuple(1e5 for _ in curve.high_n), "low_n": tuple(-1e5 for _ in curve.low_n)}
    )
    rebound = result.valve.rebound.model_copy(update={"curve": wide})
    before = force_picture(result)
    after = force_picture(result.model_copy(update={"valve": result.valve.model_copy(update={"rebound": rebound})}))
    assert before is not None
    assert after is not None
    assert after.view == before.view
