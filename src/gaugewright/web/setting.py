"""The pages' blocks set for the app: the same words and pictures, no inline style."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from markupsafe import Markup

from gaugewright.report import blocks
from gaugewright.report.blocks import Block, Cell, Inline, Line
from gaugewright.web.drawing import strict, triangle


def set_blocks(body: Iterable[Block], deeper: int = 1) -> Markup:
    """These blocks as HTML; their headings stand `deeper` steps below the page's title."""
    return Markup("".join(_block(block, deeper) for block in body))


def _t(text: str) -> str:
    return escape(text)


def _runs(line: Line) -> str:
    return "".join(_inline(part) for part in line)


def _inline(part: Inline) -> str:
    if isinstance(part, blocks.Run):
        look = f' class="{escape(part.look)}"' if part.look else ""
        return f"<span{look}>{_t(part.text)}</span>" if look else _t(part.text)
    if isinstance(part, blocks.Plate):
        drawn = strict(part.svg) if part.svg else ""
        return f'<span class="plate {part.look}">{drawn}{_t(part.text)}</span>'
    if isinstance(part, blocks.Bar):
        return bar(part.share)
    return number(part)


def bar(share: float) -> Markup:
    """A share as a bar of that length on a hairline."""
    wide = 100 * min(max(share, 0.012), 1.0)
    return Markup(
        '<svg class="bar" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true">'
        f'<path class="rail" d="M0 3H100"/><rect width="{wide:.3g}" height="6"/></svg>'
    )


def number(part: blocks.Number) -> Markup:
    """A figure with its ± and unit, its decimal mark under the others of its column."""
    after = f"<small>{_t(part.after)}</small>" if part.after else ""
    if not part.lead:
        return Markup(f'<span class="fig">{_t(part.whole + part.fraction)}{after}</span>')
    lead, tail = round(2 * part.lead), round(2 * part.tail)
    return Markup(
        f'<span class="fig even"><span class="w w{min(lead, 20)}">{_t(part.whole)}</span>'
        f'<span class="f w{min(tail, 20)}">{_t(part.fraction)}</span>{after}</span>'
    )


def _block(block: Block, deeper: int) -> str:
    if isinstance(block, blocks.Heading):
        level = min(block.level + deeper, 6)
        return f"<h{level}>{_t(block.text)}</h{level}>"
    if isinstance(block, blocks.Paragraph):
        return f'<p class="{block.look}">{_runs(block.runs)}</p>'
    if isinstance(block, blocks.Picture):
        return f'<div class="picture">{strict(block.svg, block.words)}</div>'
    if isinstance(block, blocks.Table):
        return _table(block)
    if isinstance(block, blocks.Caution):
        said = _runs(block.runs)
        return f'<p class="mind">{triangle(block.filled)}<span>{said}</span></p>'
    if isinstance(block, blocks.Keep):
        return f'<div class="kept">{set_blocks(block.blocks, deeper)}</div>'
    return _others(block, deeper)


def _others(block: Block, deeper: int) -> str:
    if isinstance(block, blocks.Facts):
        items = "".join(f"<div><dt>{_t(k)}</dt><dd>{_t(v)}</dd></div>" for k, v in block.items)
        return f'<dl class="facts">{items}</dl>'
    if isinstance(block, blocks.Items):
        return f"<ul class=points>{''.join(f'<li>{_runs(p)}</li>' for p in block.points)}</ul>"
    if isinstance(block, blocks.Columns):
        sides = "".join(f"<div>{set_blocks(side, deeper)}</div>" for side in _sides(block))
        return f'<div class="columns">{sides}</div>'
    if isinstance(block, blocks.Signatures):
        return ""
    raise TypeError(f"no such block: {type(block).__name__}")


def _sides(block: blocks.Columns) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    return block.left, block.right


def _table(table: blocks.Table) -> str:
    widths = "".join(f'<col class="c{round(100 * c.share)}">' for c in table.columns)
    groups = "".join(
        f'<th scope="colgroup" colspan="{g.span}">{_t(g.text)}</th>'
        if g.text
        else f'<td colspan="{g.span}"></td>'
        for g in table.groups
    )
    above = f'<tr class="groups">{groups}</tr>' if groups else ""
    heads = "".join(_head(column) for column in table.columns)
    named = [blocks.plain(c.head) if table.stacks else "" for c in table.columns]
    rows = "".join(_row(row, named) for row in table.rows)
    thead = f"<thead>{above}<tr>{heads}</tr></thead>" if any(c.head for c in table.columns) else ""
    said = ", ".join(filter(None, map(_said, table.columns))) or "table"
    return (
        f'<div class="wide{" stack" if table.stacks else ""}" tabindex="0" role="group" '
        f'aria-label="{_t(said)}"><table class="set"><colgroup>{widths}</colgroup>'
        f"{thead}<tbody>{rows}</tbody></table></div>"
    )


def _said(column: blocks.Column) -> str:
    return blocks.plain(column.head)


def _head(column: blocks.Column) -> str:
    content = _cell(column.head)
    under = '<span class="bracket"></span>' if column.bracket else ""
    said = blocks.plain(column.head)
    return f'<th scope="col">{content}{under}</th>' if said else f"<td>{content}</td>"


def _row(row: blocks.Row, heads: list[str]) -> str:
    cells = "".join(_data(cell, head) for cell, head in zip(row.cells, heads, strict=True))
    return f"<tr{'' if row.ruled else ' class=on'}>{cells}</tr>"


def _data(cell: Cell, head: str) -> str:
    content = _cell(cell)
    said = f' data-head="{_t(head)}"' if head and content else ""
    return f"<td{said}>{content}</td>"


def _cell(cell: Cell) -> str:
    return "".join(
        f'<span class="under">{_runs(line)}</span>' if i or blocks.is_small(line) else _runs(line)
        for i, line in enumerate(cell)
    )
