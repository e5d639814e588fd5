"""A job file's text to a job, or to everything that is wrong with it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from gaugewright.errors import InputError, Problem
from gaugewright.job.checks import check_parts
from gaugewright.job.context import context_of
from gaugewright.job.model import Job
from gaugewright.job.places import Source, Table, find_lines, mark
from gaugewright.job.references import check_references
from gaugewright.job.rewriting import STAND_INS, prune, rewrite
from gaugewright.job.settle import settle

MOST_BYTES = 4 * 1024 * 1024
"""A longer job.toml is refused unread."""


def job_from_bytes(data: bytes, file: str, folder: Path | None = None) -> Job:
    """Which job do these bytes of a job.toml state?

    Parameters: `file` names it in messages; `folder` is where its recordings must lie (None:
    not looked for).
    Returns the job, validated and settled.
    Raises InputError with every problem found.
    """
    text = text_of(data, file)
    return job_from_tables(_parsed(text, file), file, folder, text)


def text_of(data: bytes, file: str) -> str:
    """The bytes of a job.toml as text.  Raises InputError where they are too many or no text."""
    if len(data) > MOST_BYTES:
        found = f"found {len(data)} bytes, more than {MOST_BYTES}"
        raise InputError(Problem(file, "", found, "keep recordings in files of their own"))
    return _decoded(data, file)


def job_from_tables(
    raw: Mapping[str, Any], file: str = "job.toml", folder: Path | None = None, text: str = ""
) -> Job:
    """The same for tables parsed already; `text`, when there is one, gives the lines."""
    source = Source(file, raw, find_lines(text))
    job, kept, problems = _checked(raw, source)
    if job is not None:
        context = context_of(job, kept, source, folder)
        problems += check_parts(job, context)
        problems += check_references(job, context)
    if problems or job is None:
        raise InputError(problems)
    return settle(job)


def as_far_as_read(
    text: str, file: str = "job.toml", folder: Path | None = None
) -> tuple[Job, tuple[Problem, ...]]:
    """As much of a job as its text gives, and everything that is wrong or missing in it.

    For a job that is still being written.  What is refused is left out; a job that cannot be
    read at all has a title and a four-cylinder stand-in for its vehicle.
    Raises InputError when the text is not TOML.
    """
    raw = _parsed(text, file)
    source = Source(file, raw, find_lines(text))
    job, kept, problems = _checked(raw, source)
    if job is None:
        return settle(Job.model_validate(STAND_INS)), tuple(problems)
    context = context_of(job, kept, source, folder)
    problems += check_parts(job, context)
    problems += check_references(job, context)
    return settle(_alone(job) if problems else job), tuple(problems)


def _alone(job: Job) -> Job:
    """The job without alignments, which need a partner that may not be there."""
    entries = [
        entry.model_copy(update={"aligned_with": None, "aligned_by": None})
        for entry in job.recordings
    ]
    return job.model_copy(update={"recordings": tuple(entries)})


def _checked(raw: Mapping[str, Any], source: Source) -> tuple[Job | None, Table, list[Problem]]:
    """The job, or what is left of it without the keys that were refused."""
    kept: Table = mark(raw)
    problems: list[Problem] = []
    for _ in range(6):
        try:
            return Job.model_validate(kept, by_alias=True, by_name=False), kept, problems
        except ValidationError as error:
            problems = problems or list(rewrite(error, source))
            prune(kept, error)
    return None, kept, problems


def _decoded(data: bytes, file: str) -> str:
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"byte {data[error.start]:#04x} is not UTF-8"
        raise InputError(Problem(file, f"line {line}", found, "save the file as UTF-8")) from error


def _parsed(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        match = re.search(r"\(at (?:line (\d+), column \d+|end of document)\)", message)
        line = match.group(1) if match and match.group(1) else str(text.count("\n") + 1)
        found = re.sub(r"\s*\(at .*\)$", "", message)
        problem = Problem(file, f"line {line}", f"not TOML: {found}", "correct this line")
    except RecursionError:
        problem = Problem(file, "", "lists nested too deeply to read", "write them flat")
    raise InputError(problem)
