"""A small SVG writer: shapes as text, colours by the name of what they mean.

One drawing serves paper and screen.  Colours are written as `var(--name)`; `on_paper` puts the
printed colours in, the page's style sheet gives the others for light and dark.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape

SANS = "Source Sans Pro"
PRINTED = {
    "paper": "#ffffff",
    "ink": "#211C15",
    "figure": "#211C15",
    "soft": "#5B5144",
    "line": "#857A69",
    "hair": "#CBC0AA",
    "caution": "#A2241B",
    "oil": "#8A5600",
    "crankcase": "#005F9E",
    "speed": "#3A352D",
    "ignition": "#94407A",
    "manifold": "#006B4E",
    "temperature": "#AC3F00",
    "air": "#2C6A80",
    "trim": "#655E00",
}
COLOUR_OF = {
    "oil-pressure": "oil",
    "crankcase-pressure": "crankcase",
    "engine-speed": "speed",
    "ignition": "ignition",
    "crank": "ignition",
    "cam": "ignition",
    "manifold-pressure": "manifold",
    "oil-temperature": "temperature",
    "coolant-temperature": "temperature",
    "air-flow": "air",
    "fuel-trim": "trim",
    "fuel-trim-short": "trim",
    "fuel-trim-long": "trim",
}
DASHES = {"temperature": "4 2.2", "air": "8 2.5", "trim": "1.2 2"}

_WIDTHS = {
    0.25: " '.,:;Iijl|",
    0.30: "!()[]{}ft-r/\\\u202f\u00a0",
    0.43: '"?*sczJ',
    0.50: "#$0123456789+<=>~_^aegxvykLFTSYE\u2212\u00b1",
    0.55: "ABbdhnopquRPKVXZC`",
    0.66: "DGHNOQU&",
    0.80: "mwMW%@",
}
_WIDTH_OF = {sign: width for width, signs in _WIDTHS.items() for sign in signs}


def colour(name: str) -> str:
    """A colour by its meaning, to be settled by `on_paper` or by the style sheet."""
    return f"var(--{name})"


def on_paper(svg: str) -> str:
    """The drawing with the printed colours in place of the names."""
    return re.sub(r"var\(--(\w+)\)", lambda found: PRINTED[found[1]], svg)


def text_width(text: str, size: float, semibold: bool = False) -> float:
    """About how wide a text in the sans face stands, on the safe side by a few per cent."""
    return size * (1.03 if semibold else 1.0) * sum(_WIDTH_OF.get(sign, 0.6) for sign in text)


def style(**properties: object) -> str:
    """A style attribute from its properties; underscores become dashes, None is left out."""
    parts = (f"{k.replace('_', '-')}:{v}" for k, v in properties.items() if v is not None)
    return f' style="{";".join(parts)}"'


def drawing(width: float, height: float, parts: Iterable[str]) -> str:
    """A whole drawing in points; the page that shows it says in words what it shows."""
    label = ' aria-hidden="true"'
    size = f'viewBox="0 0 {short(width)} {short(height)}"'
    extent = f'width="{short(width)}" height="{short(height)}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} {extent}{label}>'
    return head + "".join(parts) + "</svg>"


def short(value: float) -> str:
    """A coordinate with at most two decimals, so that drawings stay small."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path(data: str, **properties: object) -> str:
    """A path; without `fill` it is an open line."""
    return f'<path d="{data}"{style(**{"fill": "none", **properties})}/>'


def points(pairs: Iterable[tuple[float, float]]) -> str:
    """Path data through these points, in order."""
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in pairs)


def line(x1: float, y1: float, x2: float, y2: float, ink: str, width: float = 0.8) -> str:
    """A straight line in a named colour."""
    return path(points([(x1, y1), (x2, y2)]), stroke=colour(ink), stroke_width=short(width))


def rectangle(x: float, y: float, width: float, height: float, **properties: object) -> str:
    """An upright rectangle."""
    corner = f'x="{short(x)}" y="{short(y)}"'
    return f'<rect {corner} width="{short(width)}" height="{short(height)}"{style(**properties)}/>'


def text(
    x: float,
    y: float,
    words: str,
    size: float = 9.0,
    ink: str = "ink",
    anchor: str = "start",
    semibold: bool = False,
    halo: bool = False,
) -> str:
    """A text on its baseline; `halo` clears the ground under it so that it reads on lines."""
    look: dict[str, object] = {
        "font_family": f"'{SANS}'",
        "font_size": f"{short(size)}px",
        "font_weight": 600 if semibold else None,
        "fill": colour(ink),
    }
    place = f'x="{short(x)}" y="{short(y)}" text-anchor="{anchor}"'
    said = escape(words)
    front = f"<text {place}{style(**look)}>{said}</text>"
    if not halo:
        return front
    ground = {**look, "fill": colour("paper"), "stroke": colour("paper"), "stroke_width": "2.4"}
    joined = {**ground, "stroke_linejoin": "round"}
    return f'<text aria-hidden="true" {place}{style(**joined)}>{said}</text>{front}'
