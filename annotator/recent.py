"""What was made lately in this process, by name: a bounded store for things that take a while to make and are asked for again.

In: a name that changes with all that goes into a thing, and how to make it. Out: the thing. Nothing here knows what it is.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

Made = TypeVar("Made")


class Recent(Generic[Made]):
    """What was made lately in this process, by name, the same for all that ask for it; what nobody asked for the longest goes first.

    Examples
    --------
    >>> recent: Recent[str] = Recent(2)
    >>> recent.get("a", lambda: "made"), recent.get("a", lambda: "made again")
    ('made', 'made')
    """

    def __init__(self, most: int) -> None:
        self._most, self._turn = most, Lock()
        self._made: OrderedDict[Hashable, Made] = OrderedDict()

    def get(self, name: Hashable, make: Callable[[], Made]) -> Made:
        """What is there under a name, else what `make` makes; two that ask at once may both make it."""
        with self._turn:
            if name in self._made:
                self._made.move_to_end(name)
                return self._made[name]
        made = make()
        with self._turn:
            self._made[name] = made
            while len(self._made) > self._most:
                self._made.popitem(last=False)
        return made
