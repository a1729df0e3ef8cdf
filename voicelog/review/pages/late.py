"""Things that take a moment to make, made when they are first needed."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TypeVar

Made = TypeVar("Made")


def once(make: Callable[[], Made]) -> Callable[[], Made]:
    """Return a function that makes something when first called, and only then.

    Threads that call it meanwhile wait for the one that makes it.
    """
    lock = threading.Lock()
    made: list[Made] = []

    def get() -> Made:
        with lock:
            if not made:
                made.append(make())
            return made[0]

    return get
