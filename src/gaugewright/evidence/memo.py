"""Results of a pure function of arrays, remembered by what the arrays hold.

When one mark is moved, only the levels of that stretch are asked for anew with other numbers; all
others are asked for with the same ones.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import ParamSpec, TypeVar

import numpy as np

P = ParamSpec("P")
R = TypeVar("R")


def remembered(most: int) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Remember the last `most` results of a function of arrays, numbers, texts and None.

    The results are handed out again as they are: they must not be changed.
    """

    def wrap(function: Callable[P, R]) -> Callable[P, R]:
        known: OrderedDict[bytes, R] = OrderedDict()
        lock = Lock()

        @wraps(function)
        def asked(*args: P.args, **kwargs: P.kwargs) -> R:
            key = _key(args, kwargs)
            with lock:
                if key in known:
                    known.move_to_end(key)
                    return known[key]
            found = function(*args, **kwargs)
            with lock:
                known[key] = found
                while len(known) > most:
                    known.popitem(last=False)
            return found

        return asked

    return wrap


def _key(args: tuple[object, ...], kwargs: dict[str, object]) -> bytes:
    digest = hashlib.blake2b(digest_size=20)
    for part in (*args, *kwargs.items()):
        if isinstance(part, np.ndarray):
            digest.update(f"{part.dtype.str}{part.shape}".encode())
            digest.update(np.ascontiguousarray(part).data)
        else:
            digest.update(repr(part).encode())
        digest.update(b"\x00")
    return digest.digest()
