"""From both pages' blocks to one HTML file that asks nobody for anything."""

from __future__ import annotations

import re
from html import escape
from importlib.resources import files

from gaugewright.report import blocks, fonts, marks
from gaugewright.report.blocks import Block, Cell, Inline, Line

SECURITY = (
    "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; "
    "base-uri 'none'; form-action 'none'"
)


PRINT = 0.86
"""How much the sheet is drawn in when this file itself is printed, so that it stays one page."""


def html(handover: blocks.Page, record: blocks.Page) -> str:
    """Both pages as one file: handover sheet first, then the work record."""
    look = files("gaugewright.report").joinpath("page.css").read_text(encoding="utf-8")
    links = "".join(f'<a href="#{p.name}">{_t(_name(p))}</a>' for p in (handover, record))
    return "\n".join(
        [
            f'<!doctype html><html lang="{handover.language}"><head><meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{escape(SECURITY)}">',
            '<meta name="viewport" content="width=device-width,initial-scale=1">',
            '<meta name="color-scheme" content="light dark">',
            f"<title>{_t(handover.title)}</title>",
            f"<style>{fonts.style_sheet()}\n{look}</style></head><body>",
            f"<nav>{links}</nav>",
            _page(handover),
            _page(record),
            "</body></html>\n",
        ]
    )


def _t(text: str) -> str:
    return escape(text)


def _name(page: blocks.Page) -> str:
    return page.title.partition(":")[0]


def _page(page: blocks.Page) -> str:
    head = (_lines(page.head_left), _lines(page.head_right))
    body = "".join(_block(block, page) for block in page.blocks)
    foot = f"<footer><span>{_t(page.foot_left)}</span><span>{_t(page.foot_right)}</span></footer>"
    return (
        f'<main id="{page.name}" class="sheet {page.name}" style="--k:{PRINT * page.scale:.3g}">'
        f"<header><div>{head[0]}</div><div>{head[1]}</div></header>{body}{foot}</main>"
    )


def _lines(cell: Cell) -> str:
    return "<br>".join(_runs(line) for line in cell)


def _runs(line: Line) -> str:
    return "".join(_inline(part) for part in line)


def _inline(part: Inline) -> str:
    if isinstance(part, blocks.Run):
        if not part.look:
            return _t(part.text)
        return f'<span class="{escape(part.look)}">{_t(part.text)}</span>'
    if isinstance(part, blocks.Plate):
        return f'<span class="plate {part.look}">{part.svg}{_t(part.text)}</span>'
    if isinstance(part, blocks.Bar):
        return f'<span class="bar"><i style="width:{100 * max(part.share, 0.012):.3g}%"></i></span>'
    return _number(part)


def _number(part: blocks.Number) -> str:
    after = f"<small>{_t(part.after)}</small>" if part.after else ""
    if not part.lead:
        return f'<span class="q"><b>{_t(part.whole + part.fraction)}</b>{after}</span>'
    lead = f'<b class="w" style="min-width:{part.lead * 0.515:.3g}em">{_t(part.whole)}</b>'
    tail = f'<b class="f" style="min-width:{part.tail * 0.515:.3g}em">{_t(part.fraction)}</b>'
    return f'<span class="q">{lead}{tail}{after}</span>'


def _block(block: Block, page: blocks.Page) -> str:
    if isinstance(block, blocks.Heading):
        said = _t(block.text).replace("\n", "<br>")
        return f"<h{block.level}>{said}</h{block.level}>"
    if isinstance(block, blocks.Paragraph):
        return f'<p class="{block.look}">{_runs(block.runs)}</p>'
    if isinstance(block, blocks.Picture):
        return f'<div class="picture">{_fluid(block)}</div>'
    if isinstance(block, blocks.Table):
        return _table(block)
    if isinstance(block, blocks.Facts):
        items = "".join(f"<div><dt>{_t(k)}</dt><dd>{_t(v)}</dd></div>" for k, v in block.items)
        return f'<dl class="facts">{items}</dl>'
    if isinstance(block, blocks.Items):
        return _items(block)
    return _composed(block, page)


def _composed(block: Block, page: blocks.Page) -> str:
    if isinstance(block, blocks.Caution):
        sign = marks.triangle(block.filled)
        return f'<p class="caution-line">{sign}<span>{_runs(block.runs)}</span></p>'
    if isinstance(block, blocks.Columns):
        sides = ("".join(_block(b, page) for b in side) for side in (block.left, block.right))
        return f'<div class="columns">{"".join(f"<div>{side}</div>" for side in sides)}</div>'
    if isinstance(block, blocks.Keep):
        return f"<section>{''.join(_block(b, page) for b in block.blocks)}</section>"
    if isinstance(block, blocks.Signatures):
        lines = "".join(f"<div>{_t(caption)}</div>" for caption in block.captions)
        return f'<div class="signatures">{lines}</div>'
    raise TypeError(f"no such block: {type(block).__name__}")


def _fluid(picture: blocks.Picture) -> str:
    """The drawing without its fixed size, so that it follows the page's width, and its words."""
    free = re.sub(r' width="[\d.]+" height="[\d.]+"', "", picture.svg, count=1)
    words_too = f'role="img" aria-label="{escape(picture.words)}"'
    return free.replace('aria-hidden="true"', words_too, 1)


def _items(block: blocks.Items) -> str:
    if len(block.points) == 1:
        return f"<p>{_runs(block.points[0])}</p>"
    return f"<ul>{''.join(f'<li>{_runs(point)}</li>' for point in block.points)}</ul>"


def _table(table: blocks.Table) -> str:
    widths = "".join(f'<col style="width:{100 * c.share:.4g}%">' for c in table.columns)
    groups = "".join(f'<th colspan="{g.span}">{_t(g.text)}</th>' for g in table.groups)
    above = f'<tr class="groups">{groups}</tr>' if groups else ""
    heads = "".join(
        f'<th scope="col">{_cell(c.head)}{"<i class=bracket></i>" if c.bracket else ""}</th>'
        for c in table.columns
    )
    named = [blocks.plain(c.head) if table.stacks else "" for c in table.columns]
    rows = "".join(
        f"<tr{'' if row.ruled else ' class=on'}>"
        + "".join(_data(cell, head) for cell, head in zip(row.cells, named, strict=True))
        + "</tr>"
        for row in table.rows
    )
    thead = f"<thead>{above}<tr>{heads}</tr></thead>" if any(c.head for c in table.columns) else ""
    return (
        f'<div class="wide{" stack" if table.stacks else ""}"><table><colgroup>{widths}</colgroup>'
        f"{thead}<tbody>{rows}</tbody></table></div>"
    )


def _data(cell: Cell, head: str) -> str:
    """A cell; `head` is said before it where the table's head is not shown."""
    content = _cell(cell)
    said = f' data-head="{_t(head)}"' if head and content else ""
    return f"<td{said}>{content}</td>"


def _cell(cell: Cell) -> str:
    return "".join(
        f'<span class="under">{_runs(line)}</span>' if i or blocks.is_small(line) else _runs(line)
        for i, line in enumerate(cell)
    )
