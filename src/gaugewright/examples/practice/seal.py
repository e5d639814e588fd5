"""The truth in an envelope: not read by accident, and a change to it or to the job is noticed.

The envelope keeps no secret: whoever wants to open it can.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import textwrap
import zlib
from dataclasses import dataclass
from pathlib import Path

from gaugewright.errors import InputError, Problem
from gaugewright.examples.practice.truth import FORMAT, Truth, as_data, from_data

SEALED = "truth.sealed"
JOB_FILE = "job.toml"
HEAD = f"practice truth, format {FORMAT}"
OPENS = "opens with: gaugewright practise --reveal FOLDER"
CONTENTS, JOB = "contents: sha256 ", "job.toml: sha256 "
MOST_BYTES = 4 * 1024**2
"""Contents longer than this are none of ours."""
MAKE_AGAIN = "make the job again with its level and seed"


@dataclass(frozen=True)
class Opened:
    """What an envelope held.  `changed`: files of the job that are not as they were made."""

    truth: Truth
    changed: tuple[str, ...]


def sealed(truth: Truth) -> bytes:
    """The envelope's bytes; the same for the same truth."""
    plain = json.dumps(as_data(truth), sort_keys=True, separators=(",", ":")).encode()
    body = textwrap.wrap(base64.b64encode(zlib.compress(plain, 9)).decode(), 76)
    seals = [f"{CONTENTS}{digest(plain)}", f"{JOB}{truth.files[JOB_FILE]}"]
    return "\n".join([HEAD, OPENS, *seals, "", *body, ""]).encode()


def digest(data: bytes) -> str:
    """The SHA-256 of these bytes in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def opened(folder: Path) -> Opened:
    """Open the envelope in this practice folder.

    Raises InputError: there is none, it is damaged, or it was changed since it was sealed.
    """
    path = folder / SEALED
    try:
        lines = path.read_bytes().decode("ascii").splitlines()
    except FileNotFoundError as why:
        remedy = "name a folder that gaugewright practise made"
        raise InputError(Problem(str(path), "", "it is not there", remedy)) from why
    except (OSError, UnicodeDecodeError) as why:
        raise _unfit(path, f"it cannot be read ({why})") from why
    truth = _contents(path, lines)
    return Opened(truth, tuple(_changed(folder, truth)))


def _contents(path: Path, lines: list[str]) -> Truth:
    if lines[:1] != [HEAD] or len(lines) < 6:
        raise _unfit(path, f'it does not begin with "{HEAD}"')
    try:
        packed = base64.b64decode("".join(lines[4:]), validate=True)
        plain = zlib.decompressobj().decompress(packed, MOST_BYTES)
    except (binascii.Error, zlib.error) as why:
        raise _unfit(path, f"its contents are damaged ({why})") from why
    if lines[2] != f"{CONTENTS}{digest(plain)}":
        raise _unfit(path, "its contents are not those it was sealed with")
    try:
        truth = from_data(json.loads(plain))
    except (KeyError, TypeError, ValueError) as why:
        raise _unfit(path, f"its contents are no truth of a practice job ({why})") from why
    if lines[3] != f"{JOB}{truth.files.get(JOB_FILE)}":
        raise _unfit(path, "it names another job.toml than its contents do")
    return truth


def _unfit(path: Path, found: str) -> InputError:
    return InputError(Problem(str(path), "", found, MAKE_AGAIN))


def _changed(folder: Path, truth: Truth) -> list[str]:
    return [name for name, seal in truth.files.items() if _digest_of(folder / name) != seal]


def _digest_of(path: Path) -> str:
    try:
        return digest(path.read_bytes())
    except OSError:
        return ""
