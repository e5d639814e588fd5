"""The next tests, as the work record sets them: minutes first, cautions above, outcomes below."""

from __future__ import annotations

from gaugewright.evidence.results import Findings, NextTest, Split
from gaugewright.report import blocks, causes, display, phrases, words
from gaugewright.report.blocks import Block, Cell, Column, Row, Run, cell, soft, strong
from gaugewright.report.keeping import kept

IN_FULL = 3
"""Tests told in full; those after them in one line."""


def next_tests(findings: Findings) -> list[Block]:
    """The tests worth their time, or the sentence why none is; nothing while none was sought."""
    if not findings.causes and not findings.next_tests and not findings.stop_rule:
        return []
    heading = blocks.Heading(words.TESTS_HEAD)
    stop = phrases.sentence(findings.stop_rule or "")
    if not findings.next_tests:
        return [heading, blocks.Paragraph((strong(stop or words.NO_TEST),))]
    note = blocks.Paragraph((soft(f"{words.TESTS_NOTE} {words.JUDGED}"),), "note")
    tests = [_test(test) for test in findings.next_tests[:IN_FULL]]
    said: list[Block] = [blocks.Paragraph((strong(stop),))] if stop else []
    body: list[Block] = [*kept(heading, note, *said, *tests[0])]
    for test in tests[1:]:
        body += kept(*test)
    later = causes.later(findings.next_tests[IN_FULL:])
    return body + ([blocks.Paragraph((Run(later),))] if later else [])


def _test(test: NextTest) -> list[Block]:
    """One test: cautions directly above what is done, then what each outcome would mean."""
    title = words.TEST_TITLE.format(
        minutes=causes.minutes(test), test=phrases.breakable(causes.test_name(test.test))
    )
    body: list[Block] = [blocks.Heading(title, 3)]
    body += [_caution(words.NOT_WHEN, text, filled=True) for text in test.not_when]
    body += [_caution(words.MIND, text, filled=False) for text in test.cautions]
    how = phrases.sentence(phrases.one_line(test.how))
    said = phrases.breakable(f"{how} " if how else "")
    body.append(blocks.Paragraph((Run(said), soft(phrases.breakable(_tells(test))))))
    return [*body, _outcomes(test)] if test.splits else body


def _caution(head: str, text: str, filled: bool) -> blocks.Caution:
    said = phrases.breakable(phrases.sentence(phrases.one_line(text)))
    return blocks.Caution((strong(head, "caution"), Run(f" {said}")), filled)


def _tells(test: NextTest) -> str:
    parts = [words.TEST_TELLS.format(bits=causes.bits(test))]
    if test.expected_cost is not None:
        saved = display.digits(test.expected_cost, 0)
        parts.append(words.TEST_SAVES.format(minutes=saved))
    if test.effort:
        parts.append(words.TEST_EFFORT.format(effort=test.effort))
    return phrases.sentence("; ".join(parts))


def _outcomes(test: NextTest) -> blocks.Table:
    columns = tuple(
        Column(cell(soft(head)), share)
        for head, share in zip(words.OUTCOME_HEADS, (0.42, 0.12, 0.46), strict=True)
    )
    return blocks.Table(columns, tuple(_outcome(split) for split in test.splits), stacks=True)


def _outcome(split: Split) -> Row:
    return Row((_said(split.saw), _said(causes.percent(split.chance)), _said(causes.leaves(split))))


def _said(text: str) -> Cell:
    return cell(Run(phrases.breakable(phrases.one_line(text), 18)))
