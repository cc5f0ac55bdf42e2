"""Which plate takes which of its places: one after the other, then each has another look at what is left.

Of each plate some places are compared, in different directions from its mark. What a move saves is told by tables: what each of a plate's
places costs with each other plate where that stands. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from annotator.marks.plate_costs import FARTHER, Choice, Listed
from annotator.marks.plate_lines import Numbers, cost_of_covering, cost_of_lines

_ROUNDS = 3
_WORTH = 1.0
"""A plate is moved only where that saves more than a step of two thirds of a screen pixel does."""
_ROUNDED = 1e-3
"""More than sums of costs are off by."""
_CONTENT, _BAD = 30.0, 100.0
"""A plate that stands this much dearer than it could is looked at: less than a line costs; and so much dearer, more closely."""


def arranged(choices: Sequence[Choice], kept_free: Numbers, air_px: float) -> Iterator[tuple[Numbers, Numbers]]:
    """Each plate's sides (4) and line (4; NaN where it has none).

    Each takes the cheapest of its places that those before it leave; then those that could stand cheaper are moved, alone or with one that
    is in their way, as long as that saves anything.
    """
    tables = _Tables(kept_free, air_px)
    for choice in choices:
        tables.put(choice)
    tables.share()
    for _ in range(_ROUNDS):
        moved = [tables.improve(at) for at in range(len(choices))]
        if not any(moved) and not tables.improve_worst():
            break
    return tables.places()


@dataclass
class _Table:
    """Places of one plate: sides, lines, what each costs alone, and with each of the other plates; which of them it has."""

    sides: Numbers
    lines: Numbers
    alone: Numbers
    has: int
    shared: Numbers

    _costs: Numbers | None = None

    @property
    def costs(self) -> Numbers:
        """What each costs in all."""
        if self._costs is None:
            self._costs = self.alone + self.shared.sum(axis=1)
        return self._costs

    def share(self, shared: Numbers) -> None:
        """Take on what the places cost with all others."""
        self.shared, self._costs = shared, None

    def learn(self, other: int, costs: Numbers) -> None:
        """Take on what they cost with one of the others where that stands now."""
        self.shared[:, other], self._costs = costs, None


class _Tables:
    def __init__(self, kept_free: Numbers, air_px: float) -> None:
        self._kept_free, self._air = kept_free, air_px
        self._tables: list[_Table] = []
        self._sides = self._lines = np.empty((0, 4))

    def places(self) -> Iterator[tuple[Numbers, Numbers]]:
        """Sides and line of each plate."""
        return ((table.sides[table.has], table.lines[table.has]) for table in self._tables)

    def put(self, choice: Choice) -> None:
        """Put another plate to the cheapest of its places around its mark, or anywhere where that could be cheaper."""
        table = self._put(choice.near)
        if table.costs[table.has] > FARTHER:
            table = min(table, self._put(choice.everywhere), key=lambda one: float(one.costs[one.has]))
        self._tables.append(table)

    def _put(self, listed: Listed) -> _Table:
        alone = listed.alone
        if len(self._kept_free):
            alone = alone + cost_of_covering(listed.sides, self._kept_free, self._air).sum(axis=1)
        table = _Table(listed.sides, listed.lines, alone, 0, np.empty((len(alone), 0)))
        table.share(self._shared(table))
        table.has = int(table.costs.argmin())
        return table

    def share(self) -> None:
        """Tell each of them where those stand that were put down after it."""
        if not self._tables:
            return
        self._sides = np.vstack([table.sides for table in self._tables])
        self._lines = np.vstack([table.lines for table in self._tables])
        for at, (table, costs) in enumerate(zip(self._tables, self._told(*self._standing()), strict=True)):
            table.share(np.hstack([table.shared, np.zeros((len(table.alone), 1)), costs[:, at + 1 :]]))

    def improve(self, at: int) -> bool:
        """Move a plate, and perhaps one that is in its way, where that saves most; whether anything was moved."""
        table = self._tables[at]
        if table.costs[table.has] <= table.alone.min() + _CONTENT:
            return False
        return self._take([(at,), *((at, other) for other in self._in_the_way(at))])

    def improve_worst(self) -> bool:
        """Move the plate that stands dearest against what it could, with one in its way, and one in the way of that."""
        if not self._tables:
            return False
        at = int(np.argmax([table.costs[table.has] - table.alone.min() for table in self._tables]))
        table = self._tables[at]
        if table.costs[table.has] <= table.alone.min() + _BAD:
            return False
        pairs = [(at, other) for other in self._in_the_way(at)]
        return self._take([(*pair, third) for pair in pairs for third in self._in_the_way(pair[1]) if third != at])

    def _in_the_way(self, at: int) -> list[int]:
        """Those that a plate meets, where it is or where it would like to be."""
        table = self._tables[at]
        return [int(other) for other in np.flatnonzero(table.shared[[table.has, int(table.alone.argmin())]].any(axis=0))]

    def _take(self, orders: Sequence[tuple[int, ...]]) -> bool:
        """Put some plates down again in that one of some orders that saves most; whether one saves anything."""
        saved, found = _WORTH, tuple[tuple[int, int], ...]()
        for order in orders:
            if self._could_save(order) >= saved:
                saved, found = max((saved, found), self._again(order))
        if saved <= _WORTH:
            return False
        for at, place in found:
            self._move(at, place)
        return True

    def _could_save(self, order: tuple[int, ...]) -> float:
        """What it would save at most to put some plates down again, were none of them in another's way."""
        most = 0.0
        for number, at in enumerate(order):
            table = self._tables[at]
            costs = table.costs
            most += costs[table.has] - sum(table.shared[table.has, other] for other in order[:number])
            for other in order:
                if other != at:
                    costs = costs - table.shared[:, other]
            most -= costs.min()
        return float(most) + _ROUNDED

    def _again(self, order: tuple[int, ...]) -> tuple[float, tuple[tuple[int, int], ...]]:
        """What it saves to take some plates away and put them down again one by one; and which takes which place."""
        saved, found = 0.0, list[tuple[int, int]]()
        for at in order:
            table = self._tables[at]
            costs = table.costs
            saved += costs[table.has] - sum(table.shared[table.has, other] for other, _ in found)
            for other in order:
                if other != at:
                    costs = costs - table.shared[:, other]
            for other, place in found:
                costs = costs + self._with(table, self._tables[other], place)
            found.append((at, int(costs.argmin())))
            saved -= costs.min()
        return float(saved), tuple(found)

    def _move(self, at: int, place: int) -> None:
        """Put a plate to one of its places; the others' tables learn of it."""
        table = self._tables[at]
        table.has = place
        here = slice(place, place + 1)
        for other, costs in zip(self._tables, self._told(table.sides[here], table.lines[here]), strict=True):
            if other is not table:
                other.learn(at, costs[:, 0])

    def _with(self, table: _Table, other: _Table, place: int) -> Numbers:
        """What the places of one plate cost with another one at a place."""
        here = slice(place, place + 1)
        found: Numbers = self._cost(table, other.sides[here], other.lines[here])[:, 0]
        return found

    def _shared(self, table: _Table) -> Numbers:
        """What the places of a plate cost with each of those that stand."""
        return self._cost(table, *self._standing())

    def _standing(self) -> tuple[Numbers, Numbers]:
        """Sides and lines of those that stand."""
        places = list(self.places())
        return np.array([sides for sides, _ in places]).reshape(-1, 4), np.array([line for _, line in places]).reshape(-1, 4)

    def _told(self, sides: Numbers, lines: Numbers) -> list[Numbers]:
        """What the places of every plate cost with some plates, a table each; asked at once, since most of the time is in the asking."""
        found = cost_of_covering(self._sides, sides, self._air) + cost_of_lines(self._sides, self._lines, sides, lines)
        return np.split(found, np.cumsum([len(table.alone) for table in self._tables])[:-1])

    def _cost(self, table: _Table, sides: Numbers, lines: Numbers) -> Numbers:
        return cost_of_covering(table.sides, sides, self._air) + cost_of_lines(table.sides, table.lines, sides, lines)
