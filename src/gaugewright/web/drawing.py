"""The house's marks and drawings, fit for a page that allows no inline style."""

from __future__ import annotations

import re
from html import escape

from markupsafe import Markup

from gaugewright.report import marks

_STYLE = re.compile(r' style="([^"]*)"')


def strict(svg: str, words: str = "") -> Markup:
    """A drawing with its styles as attributes, as wide as its place; `words` say what it shows."""
    free = re.sub(r' width="[\d.]+" height="[\d.]+"', "", svg, count=1)
    drawn = _STYLE.sub(lambda found: _attributes(found[1]), free)
    if words:
        told = f'role="img" aria-label="{escape(words)}"'
        drawn = drawn.replace('aria-hidden="true"', told, 1)
    return Markup(drawn)


def _attributes(style: str) -> str:
    pairs = (part.partition(":") for part in style.split(";") if part)
    return "".join(f' {name.strip()}="{value.strip()}"' for name, _, value in pairs)


def sign(verdict: str) -> Markup:
    """A verdict's little spindle against the wall."""
    return strict(marks.sign(verdict))


def triangle(filled: bool) -> Markup:
    """The caution's triangle."""
    return strict(marks.triangle(filled))


KINDS = {"done": "st-done", "begun": "st-half", "missing": "st-open", "waiting": "st-wait"}


def stitch(state: str) -> Markup:
    """One stitch across the standing thread, 24 by 10."""
    box = f'<rect class="{KINDS[state]}" x="1" y="1" width="22" height="8"/>'
    half = '<rect class="st-done" x="1" y="1" width="11" height="8"/>' if state == "begun" else ""
    return Markup(
        f'<svg class="st" viewBox="0 0 24 10" width="24" height="10" aria-hidden="true">'
        f"{box}{half}</svg>"
    )


def lying(states: tuple[str, ...], words: str, step: float = 29.0) -> Markup:
    """The thread on its side with a stitch for each part: the list's view of a job."""
    done = _done(states)
    end = step * len(states)
    seam = 2 + step * done if done < len(states) else end
    parts = [
        f'<path class="thread-open" d="M2 15H{end:g}"/>',
        f'<path class="thread-done" d="M2 15H{seam:g}"/>' if done else "",
    ]
    for number, state in enumerate(states):
        x = 8 + step * number
        parts.append(f'<rect class="{KINDS[state]}" x="{x:g}" y="5" width="8" height="20"/>')
        if state == "begun":
            parts.append(f'<rect class="st-done" x="{x:g}" y="15" width="8" height="10"/>')
    return Markup(
        f'<svg viewBox="0 0 {end:g} 30" role="img" aria-label="{escape(words)}">'
        f"{''.join(parts)}</svg>"
    )


def _done(states: tuple[str, ...]) -> int:
    """How many parts are done from the first on."""
    return next((i for i, state in enumerate(states) if state != "done"), len(states))


def slanted(names: tuple[str, ...], step: float = 29.0) -> Markup:
    """The parts' names standing slanted over their stitches."""
    texts = "".join(
        f'<text transform="translate({13 + step * i:g} 88) rotate(-58)">{escape(name)}</text>'
        for i, name in enumerate(names)
    )
    return Markup(
        f'<svg viewBox="0 0 {step * len(names) + 24:g} 92" aria-hidden="true">{texts}</svg>'
    )


MARK = Markup(
    '<svg viewBox="0 0 28 19" aria-hidden="true">'
    '<path d="M6 1V18M6 2L1 6M6 6L1 10M6 10L1 14M6 14L1 18" fill="none" stroke="currentColor" '
    'stroke-width="1.3"/>'
    '<path d="M8 9.5C13 9 14 4.5 18 4.5S23 9 28 9.5C23 10 22 14.5 18 14.5S13 10 8 9.5Z" '
    'fill="currentColor"/></svg>'
)
"""The sign beside the name: a spindle clear of its wall."""
