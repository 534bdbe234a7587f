"""`dampkit spring`: the rate, stress and friction of a spring, from its sizes or from a log of load and deflection."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dampkit.app.commands import group_of_commands
from dampkit.app.say import say
from dampkit.errors import BadSettings

if TYPE_CHECKING:
    from dampkit.needs.springs.declared import AnySpring
    from dampkit.needs.springs.figures import Fact

app = group_of_commands()

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")]
Load = Annotated[
    float, typer.Option("--load", min=1e-3, help="Load on the spring at ride height, N.", show_default=False)
]
Motion = Annotated[float, typer.Option("--motion-ratio", help="Spring travel per wheel travel.")]


def _millimetres(text: str) -> Any:
    return typer.Option(help=f"{text}, mm.", show_default=False)


@app.command(
    "leaf",
    epilog="Example: dampkit spring leaf --span 1100 --width 50 --thickness 7 --full 1 --graduated 5 --load 3400",
)
def leaf_command(
    span: Annotated[float, _millimetres("From eye to eye under load")],
    width: Annotated[float, _millimetres("Width of a leaf")],
    thickness: Annotated[float, _millimetres("Thickness of a leaf")],
    load: Load,
    full: Annotated[int, typer.Option(help="Full-length leaves.")] = 1,
    graduated: Annotated[int, typer.Option(help="Graduated leaves.")] = 0,
    clamp_length: Annotated[float, _millimetres("Band width or distance of the U-bolts")] = 0.0,
    u_bolts: Annotated[bool, typer.Option("--u-bolts", help="Held by U-bolts, not by a band.")] = False,
    camber: Annotated[float, _millimetres("Height of the eyes over the seat without load")] = 0.0,
    shackle: Annotated[float, typer.Option(help="Sideways over downward force at the eye.")] = 0.0,
    friction: Annotated[float, typer.Option(help="Friction coefficient between leaves.")] = 0.0,
    measured_camber: Annotated[
        float | None, _millimetres("Height of the eyes over the seat as found under the load, for the sag")
    ] = None,
    helper_rate: Annotated[float, typer.Option(help="Rate of a helper leaf, N/mm.", show_default=False)] = 0.0,
    helper_contact: Annotated[float, _millimetres("Deflection at which the helper touches")] = 0.0,
    motion_ratio: Motion = 1.0,
    as_json: AsJson = False,
) -> None:
    """A semi-elliptic leaf spring."""
    table = {
        "kind": "leaf", "span_mm": span, "width_mm": width, "thickness_mm": thickness, "full_length_leaves": full,
        "graduated_leaves": graduated, "clamp_length_mm": clamp_length, "clamp": "u-bolts" if u_bolts else "band",
        "free_camber_mm": camber, "shackle_tangent": shackle, "friction_coefficient": friction,
        "helper_rate_n_mm": helper_rate, "helper_contact_mm": helper_contact, "motion_ratio": motion_ratio,
    }  # fmt: skip
    if measured_camber is not None:
        table["measured_camber_mm"] = measured_camber
    _show_declared(table, load, as_json)


@app.command("coil", epilog="Example: dampkit spring coil --wire 12 --coil 100 --active 6 --load 3400")
def coil_command(
    wire: Annotated[float, _millimetres("Diameter of the wire")],
    coil: Annotated[float, _millimetres("Diameter of the coil to the middle of the wire")],
    active: Annotated[float, typer.Option(help="Coils free to twist.", show_default=False)],
    load: Load,
    motion_ratio: Motion = 1.0,
    as_json: AsJson = False,
) -> None:
    """A coil spring of round wire."""
    table = {"kind": "coil", "wire_diameter_mm": wire, "coil_diameter_mm": coil, "active_coils": active}
    _show_declared({**table, "motion_ratio": motion_ratio}, load, as_json)


@app.command("torsion", epilog="Example: dampkit spring torsion --diameter 25 --length 1200 --lever 350 --load 3400")
def torsion_command(
    diameter: Annotated[float, _millimetres("Diameter of the bar")],
    length: Annotated[float, _millimetres("Length that can twist")],
    lever: Annotated[float, _millimetres("Lever that carries the load")],
    load: Load,
    angle: Annotated[float, typer.Option(help="Of the lever from level, degrees, positive on the bump side.")] = 0.0,
    tube_outer: Annotated[float | None, _millimetres("Outer diameter of a tube around the bar")] = None,
    tube_inner: Annotated[float, _millimetres("Inner diameter of that tube")] = 0.0,
    tube_length: Annotated[float | None, _millimetres("Length of that tube, if not the bar's")] = None,
    motion_ratio: Motion = 1.0,
    as_json: AsJson = False,
) -> None:
    """A torsion bar at the end of a lever, alone or inside a tube."""
    table = {
        "kind": "torsion-bar", "diameter_mm": diameter, "length_mm": length, "lever_mm": lever,
        "lever_angle_deg": angle, "motion_ratio": motion_ratio,
    }  # fmt: skip
    if tube_outer is not None:
        table |= {"tube_outer_mm": tube_outer, "tube_inner_mm": tube_inner, "tube_length_mm": tube_length or length}
    _show_declared(table, load, as_json)


@app.command("log", epilog="Example: dampkit spring log SPRING.csv --load 3400")
def log_command(
    log: Annotated[
        Path, typer.Argument(metavar="SPRING.csv", help="Load and deflection, out and back.", show_default=False)
    ],
    load: Load,
    bench: Annotated[
        Path | None,
        typer.Option("--bench", metavar="BENCH.toml", help="Which columns and units, where the log leaves it open."),
    ] = None,
    motion_ratio: Motion = 1.0,
    as_json: AsJson = False,
) -> None:
    """A spring as measured: rate at ride height, friction from the width of the loop."""
    from dampkit.bench.declared import BenchSpec
    from dampkit.bench.toml_file import declared
    from dampkit.needs.springs.figures import measured_facts
    from dampkit.needs.springs.measured import read_spring_log, spring_from_log

    _check_finite(load)
    deflection, read = read_spring_log(log, declared(bench, BenchSpec))
    spring = spring_from_log(deflection, read, load, str(log))
    table: dict[str, object] = {"kind": "measured", "rate_n_mm": round(spring.rate_n_m.value / 1e3, 4)}
    if spring.friction_n is not None:
        table["friction_n"] = round(max(0.0, spring.friction_n.value), 2)
    table["motion_ratio"] = motion_ratio
    _spec_of(table)
    _show(list(measured_facts(spring)), _as_toml(table), as_json)
    if spring.friction_n is None and not as_json:
        say("Friction: not established; the log goes one way only.")


def _show_declared(table: dict[str, object], load_n: float, as_json: bool) -> None:
    from dampkit.needs.springs.declared import Parallel, at_wheel
    from dampkit.needs.springs.figures import spring_facts

    _check_finite(load_n)
    spec = _spec_of(table)
    at_wheel_n = load_n * (1.0 if isinstance(spec, Parallel) else spec.motion_ratio)
    if not 0 < at_wheel(spec, at_wheel_n)[0] < math.inf:
        raise BadSettings("the spring", "it pushes no harder the further it is bent", "a rate above zero",
                          "check angles, camber and shackle")  # fmt: skip
    _show(list(spring_facts(spec, at_wheel_n)), _as_toml(table), as_json)


def _check_finite(load_n: float) -> None:
    if not math.isfinite(load_n):
        raise BadSettings("--load", f"found {load_n}", "a load in newtons", "see  dampkit spring --help")


def _spec_of(table: dict[str, object]) -> AnySpring:
    from pydantic import TypeAdapter, ValidationError

    from dampkit.needs.springs.declared import SpringSpec

    adapter: TypeAdapter[AnySpring] = TypeAdapter(SpringSpec)
    try:
        return adapter.validate_python(table)
    except ValidationError as error:
        first = error.errors()[0]
        said = str(first["msg"]).removeprefix("Input should be ").removeprefix("Value error, ")
        found, _, expected = said.partition("; expected ")
        if not expected:
            found, expected = f"found {first['input']!r}", said
        raise BadSettings(str(first["loc"][-1]), found, expected, "see  dampkit spring --help") from None


def _as_toml(table: dict[str, object]) -> list[str]:
    rows = [f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}" for key, value in table.items()]
    return ["For a vehicle file, in place of wheel_rate_n_mm:", "  [spring]", *(f"  {row}" for row in rows)]


def _show(facts: list[Fact], more: Iterable[str], as_json: bool) -> None:
    from dataclasses import asdict

    from dampkit.app.need import fact_lines

    if as_json:
        say(json.dumps({"format": "dampkit-spring/1", "facts": [asdict(fact) for fact in facts]}, indent=1))
        return
    for line in (*fact_lines(facts), *more):
        say(line)
