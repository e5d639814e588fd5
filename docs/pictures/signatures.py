"""Draws what each fault does to the virtual engine: `python docs/pictures/signatures.py`.

One strip for each cause: oil pressure at the gauge against speed, hot and cold; crankcase
pressure by condition; fuel trims at idle and at 2500 rpm; behind all of it the sound engine.
And one sheet with the oil pressure of every cause beside each other.  All of it is computed.
"""

from __future__ import annotations

import io
import math
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import typst
from PIL import Image

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import Solved, solve
from gaugewright.physics.numbers import Floats
from gaugewright.report import fonts, ruler, svg, words

HERE = Path(__file__).parent
PIXELS_PER_INCH = 144
SPEEDS_RPM = np.linspace(700.0, 4500.0, 153)
SEVERITY = 0.6
"""Of the fault drawn, from 0, just noticeable, to 1, gross."""
LASTS_S = 180.0
"""How long each speed is held: foam and debris have come nearly as far as they will."""
HOT, COLD = (Held(speed_rpm=SPEEDS_RPM, oil_degc=degc, for_s=LASTS_S) for degc in (90.0, 10.0))
HELD = {
    "hot idle": Held(),
    "2500 rpm": Held(speed_rpm=2500.0),
    "2500 rpm, load": Held(speed_rpm=2500.0, load_nm=50.0),
    "idle, cap off": Held(did=frozenset({"filler-cap-off"})),
    "idle, vent plugged": Held(did=frozenset({"vent-port-blocked"})),
}
TRIMMED = ("hot idle", "2500 rpm")
OIL_KPA, TRIM_PERCENT = 600.0, (-14.0, 34.0)
"""Ends of the axes: one rule for all strips, longer only where a curve needs it."""


@dataclass(frozen=True)
class Signature:
    """What one engine shows: gauge kPa over SPEEDS_RPM, crankcase kPa and trims % by condition.

    The gauge is the technician's own, with the zero and the gain it has.
    """

    hot_kpa: Floats
    cold_kpa: Floats
    case_kpa: Mapping[str, float]
    trim_percent: Mapping[str, float]
    idle_rpm: float
    idle_kpa: float
    lamp: float


def signature(build: Build, engine: Engine) -> Signature:
    """Solve one engine in every condition of the pictures."""
    own = engine.indication
    gauge_pa = solve(build, engine, [HOT, COLD]).gauge_pa * own.gain + own.zero_pa
    hot, cold = gauge_pa / 1e3
    held = solve(build, engine, list(HELD.values()))
    case = dict(zip(HELD, held.crankcase_over_pa[:, 0] / 1e3, strict=True))
    trim = dict(zip(HELD, 100.0 * held.trim[:, 0], strict=True))
    idle_kpa = (_idle(held, "gauge_pa") * float(own.gain) + float(own.zero_pa)) / 1e3
    idle_rpm, lamp = _idle(held, "speed_rpm"), _idle(held, "lamp")
    return Signature(hot, cold, case, trim, idle_rpm, idle_kpa, lamp)


def _idle(solved: Solved, field: str) -> float:
    return float(getattr(solved, field)[0, 0])


@cache
def pair(cause: str) -> tuple[Signature, Signature, str]:
    """The faulty engine, the sound one, and the fault in the trade's terms.

    On the plain engine, or the one with a two-stage pump where the fault needs it.
    """
    fault, build = FAULTS[cause], Build()
    if not fault.suits(build):
        build = replace(build, oil_pump="two-stage")
    whole = sound(build)
    faulty = fault.applied(build, whole, SEVERITY)
    return signature(build, faulty), signature(build, whole), fault.tells(whole, faulty)


@cache
def case_kpa() -> tuple[float, float]:
    """The ends of the crankcase's rule: one for all strips."""
    sides = [side for cause in FAULTS for side in pair(cause)[:2]]
    values = [value for side in sides for value in side.case_kpa.values()]
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    return 2.0 * math.floor(low / 2.0 - 0.25), 2.0 * math.ceil(high / 2.0 + 0.25)


# ---------------------------------------------------------------- oil pressure against speed


@dataclass(frozen=True)
class Panel:
    """A rectangle to draw in: left, right, top and foot of the field between the axes."""

    left: float
    right: float
    top: float
    foot: float


def oil_panel(faulty: Signature, whole: Signature, panel: Panel, labels: bool) -> list[str]:
    """Gauge pressure against speed: hot heavy, cold light, the sound engine in grey behind."""
    across = ruler.straight(0.5, 4.5, panel.left, panel.right)
    up = ruler.straight(0.0, _highest(faulty, whole), panel.foot, panel.top)
    pairs = ((whole.cold_kpa, faulty.cold_kpa, 0.10), (whole.hot_kpa, faulty.hot_kpa, 0.22))
    parts = [_between(a, b, across, up, shade) for a, b, shade in pairs]
    parts += [_curve(a, across, up, "line", 1.2) for a, _, _ in pairs]
    parts.append(_curve(faulty.cold_kpa, across, up, "oil", 1.1))
    parts.append(_curve(faulty.hot_kpa, across, up, "oil", 2.4))
    parts += [ruler.lying(across, panel.foot), ruler.standing(up, panel.left)]
    if labels:
        parts.append(_names(faulty, whole, panel, up))
    return parts


def _highest(faulty: Signature, whole: Signature) -> float:
    shown = (faulty.hot_kpa, faulty.cold_kpa, whole.hot_kpa, whole.cold_kpa)
    return max(OIL_KPA, 100.0 * math.ceil(max(float(np.nanmax(v)) for v in shown) / 100.0))


def _curve(values: Floats, across: ruler.Scale, up: ruler.Scale, ink: str, width: float) -> str:
    stroke = {"stroke": svg.colour(ink), "stroke_width": svg.short(width)}
    return "".join(svg.path(svg.points(run), **stroke) for run in _runs(values, across, up))


def _runs(
    values: Floats, across: ruler.Scale, up: ruler.Scale
) -> Iterator[list[tuple[float, float]]]:
    """Stretches without a gap: where the engine does not run there is nothing to draw."""
    run: list[tuple[float, float]] = []
    for speed, value in zip(SPEEDS_RPM, values, strict=True):
        if np.isfinite(value):
            run.append((across.at(speed / 1e3), up.at(max(float(value), 0.0))))
        elif run:
            yield run
            run = []
    if run:
        yield run


def _between(a: Floats, b: Floats, across: ruler.Scale, up: ruler.Scale, shade: float) -> str:
    """The tint between sound and faulty, where both run at every speed."""
    if not np.all(np.isfinite(a) & np.isfinite(b)):
        return ""
    there, back = next(_runs(a, across, up)), next(_runs(b, across, up))
    outline = svg.points([*there, *reversed(back)]) + "Z"
    return svg.path(outline, fill=svg.colour("oil"), fill_opacity=shade)


def _names(faulty: Signature, whole: Signature, panel: Panel, up: ruler.Scale) -> str:
    """The lines' names at their right ends, moved apart where they would touch."""
    ends = [
        (up.at(_last(faulty.hot_kpa)), "hot, 90 \u00b0C", "oil", True),
        (up.at(_last(faulty.cold_kpa)), "cold, 10 \u00b0C", "oil", False),
    ]
    for name, a, b in (("hot", whole.hot_kpa, faulty.hot_kpa),):
        if abs(up.at(_last(a)) - up.at(_last(b))) > 9.0:
            ends.append((up.at(_last(a)), f"sound, {name}", "soft", False))
    if abs(up.at(_last(whole.cold_kpa)) - up.at(_last(faulty.cold_kpa))) > 9.0:
        ends.append((up.at(_last(whole.cold_kpa)), "sound, cold", "soft", False))
    parts, last = [], -math.inf
    for y, said, ink, bold in sorted(ends):
        last = max(y + 3.4, last + 11.5)
        parts.append(svg.text(panel.right + 5, last, said, 10, ink, semibold=bold))
    return "".join(parts)


def _last(values: Floats) -> float:
    finite = values[np.isfinite(values)]
    return float(finite[-1]) if finite.size else 0.0


# ---------------------------------------------------------------- crankcase and trims


def dots(
    faulty: Mapping[str, float],
    whole: Mapping[str, float],
    scale: ruler.Scale,
    panel: Panel,
    ink: str,
    names_at: float,
) -> list[str]:
    """A row for each condition: the sound engine a ring, the faulty one a full dot."""
    step = (panel.foot - panel.top) / len(faulty)
    zero = scale.at(0.0)
    parts = [svg.line(zero, panel.top, zero, panel.foot, "line", 0.7)]
    for row, name in enumerate(faulty):
        y = panel.top + (row + 0.5) * step
        parts.append(svg.text(names_at, y + 3.4, name, 10.5))
        parts += _row(whole[name], faulty[name], scale, y, ink)
    parts.append(ruler.lying(scale, panel.foot, signed=True))
    return parts


def _row(whole: float, faulty: float, scale: ruler.Scale, y: float, ink: str) -> list[str]:
    """From the sound engine's ring to the faulty one's dot."""
    a = scale.at(whole)
    if not math.isfinite(faulty):
        said = svg.text(a + 9, y + 3.4, "does not run", 10, "soft")
        return [_dot(a, y, "line", 3.4, "paper"), said]
    b = scale.at(faulty)
    joined = svg.path(
        svg.points([(a, y), (b, y)]),
        stroke=svg.colour(ink),
        stroke_width="2.2",
        stroke_opacity="0.35",
    )
    return [joined, _dot(a, y, "line", 3.4, "paper"), _dot(b, y, ink, 3.6, ink)]


def _dot(x: float, y: float, ink: str, radius: float, fill: str) -> str:
    place = f'cx="{svg.short(x)}" cy="{svg.short(y)}" r="{svg.short(radius)}"'
    look = svg.style(fill=svg.colour(fill), stroke=svg.colour(ink), stroke_width="1.3")
    return f"<circle {place}{look}/>"


# ---------------------------------------------------------------- one strip, one sheet

WIDTH, HEIGHT = 850.0, 268.0
OIL = Panel(38.0, 272.0, 84.0, 226.0)
CASE = Panel(456.0, 610.0, 84.0, 226.0)
TRIM = Panel(692.0, 842.0, 84.0, 152.0)
CASE_NAMES, TRIM_NAMES = 356.0, 638.0
"""Where the names of the rows begin."""


def strip(cause: str) -> str:
    """The whole signature of one cause as a drawing."""
    faulty, whole, told = pair(cause)
    case = ruler.straight(*case_kpa(), CASE.left, CASE.right)
    trim = ruler.straight(*TRIM_PERCENT, TRIM.left, TRIM.right)
    trims, sound_trims = ({k: s.trim_percent[k] for k in TRIMMED} for s in (faulty, whole))
    return svg.drawing(
        WIDTH,
        HEIGHT,
        [
            svg.text(0, 18, title(cause), 17, semibold=True),
            svg.text(0, 37, f"Drawn: {told}", 12, "soft"),
            *_heads(),
            *oil_panel(faulty, whole, OIL, labels=True),
            *dots(faulty.case_kpa, whole.case_kpa, case, CASE, "crankcase", CASE_NAMES),
            *dots(trims, sound_trims, trim, TRIM, "trim", TRIM_NAMES),
            *_beside(faulty, whole),
            *_feet(),
        ],
    )


def title(cause: str) -> str:
    """The cause in words, with a capital."""
    said = words.CAUSE[cause]
    return said[0].upper() + said[1:]


def _heads() -> list[str]:
    heads = (
        (0.0, "Oil pressure at the gauge", "oil", "kPa, against speed in 1000 rpm"),
        (CASE_NAMES, "Crankcase pressure", "crankcase", "kPa against the outside air"),
        (TRIM_NAMES, "Fuel trim", "trim", "%, fuel added +"),
    )
    return [
        part
        for x, name, ink, unit in heads
        for part in (
            svg.text(x, 58, name, 11.5, ink, semibold=True),
            svg.text(x, 71, unit, 10, "soft"),
        )
    ]


def _beside(faulty: Signature, whole: Signature) -> list[str]:
    """Gauge, speed and oil lamp at hot idle, in figures: too small to be seen on the curves."""
    x, y = TRIM_NAMES, TRIM.foot + 42
    lamp = "lit" if faulty.lamp > 0.5 else "off"
    said = (
        ("Gauge", f"{faulty.idle_kpa:.0f} kPa", f"sound {whole.idle_kpa:.0f}"),
        ("Speed", f"{faulty.idle_rpm:.0f} rpm", f"sound {whole.idle_rpm:.0f}"),
        ("Oil lamp", lamp, ""),
    )
    parts = [svg.text(x, y, "At hot idle", 10.5, "soft")]
    for row, (name, value, beside) in enumerate(said):
        at = y + 16.0 * (row + 1)
        parts.append(svg.text(x, at, name, 10.5))
        parts.append(svg.text(x + 54, at, value, 11.5, "figure", semibold=True))
        parts.append(svg.text(x + 114, at, beside, 10, "soft"))
    return parts


def _feet() -> list[str]:
    y = HEIGHT - 5
    return [
        _dot(CASE_NAMES + 4, y - 3.4, "line", 3.2, "paper"),
        svg.text(CASE_NAMES + 11, y, "sound", 10, "soft"),
        _dot(CASE_NAMES + 56, y - 3.4, "ink", 3.2, "ink"),
        svg.text(CASE_NAMES + 63, y, "with the fault", 10, "soft"),
    ]


COLUMNS, CELL, ROW, HEAD = 3, 262.0, 156.0, 46.0


def sheet() -> str:
    """The oil pressure of every cause beside each other."""
    parts = _legend()
    for index, cause in enumerate(FAULTS):
        down, along = divmod(index, COLUMNS)
        x, y = along * CELL, HEAD + down * ROW
        faulty, whole, _ = pair(cause)
        parts.append(svg.text(x, y + 14, title(cause), 12, semibold=True))
        panel = Panel(x + 32.0, x + CELL - 30.0, y + 26.0, y + 122.0)
        parts += oil_panel(faulty, whole, panel, labels=False)
    rows = math.ceil(len(FAULTS) / COLUMNS)
    return svg.drawing(COLUMNS * CELL - 20.0, HEAD + rows * ROW, parts)


def _legend() -> list[str]:
    """What the lines of the sheet are."""
    said = (
        (2.4, "oil", "hot, 90 \u00b0C"),
        (1.1, "oil", "cold, 10 \u00b0C"),
        (1.2, "line", "sound"),
    )
    parts = [
        svg.text(0, 14, "Oil pressure at the gauge", 12, "oil", semibold=True),
        svg.text(150, 14, "kPa, against speed in 1000 rpm", 10.5, "soft"),
    ]
    for place, (width, ink, name) in enumerate(said):
        x = 350.0 + 110.0 * place
        parts.append(svg.line(x, 10.5, x + 26, 10.5, ink, width))
        parts.append(svg.text(x + 32, 14, name, 10.5))
    return parts


# ---------------------------------------------------------------- to a picture


def picture(drawing: str, into: Path) -> None:
    """A drawing as a PNG on white, with the faces of the pages and few colours."""
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        for face in fonts.FACES:
            shutil.copy(fonts.file_of(face), room)
        (room / "drawing.svg").write_text(svg.on_paper(drawing), encoding="utf-8")
        page = '#set page(width: auto, height: auto, margin: 9pt)\n#image("drawing.svg")'
        (room / "page.typ").write_text(page, encoding="utf-8")
        known = typst.Fonts(include_system_fonts=False, font_paths=[name])
        compiler = typst.Compiler(str(room / "page.typ"), root=name, font_paths=known)
        made = compiler.compile(format="png", ppi=PIXELS_PER_INCH)
    assert isinstance(made, bytes)
    image = Image.open(io.BytesIO(made)).convert("RGB")
    image.quantize(160, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(
        into, optimize=True
    )


def draw(folder: Path) -> list[Path]:
    """Every strip and the sheet, into this folder."""
    drawings = {f"signature-{cause}.png": strip(cause) for cause in FAULTS}
    drawings["signatures.png"] = sheet()
    for name, drawing in drawings.items():
        picture(drawing, folder / name)
    return [folder / name for name in drawings]


if __name__ == "__main__":
    for path in draw(HERE):
        print(path.name)
