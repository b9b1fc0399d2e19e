"""Uses that follow one another: each has a place of its own to come after.

Every use of a tray comes directly after something, the tray not yet used or an earlier use, and
nothing is followed directly by two.  So a set of uses can be served if and only if they can be
matched, each with a place to come after; and a use more is let in if and only if an augmenting
path leads from it to a free place.  Of a use that is not, the search comes by the uses that keep
it out: together they want fewer places than they are (Hall 1935).

Sets of places are the bits of an integer: first the trays, then a place for every use.
"""

from __future__ import annotations

from scheduling.coverage.bits import Bits, each

Place = int
"""What a use may come after: a tray by its number, or another use."""

Places = Bits
"""A set of places."""


class Chains:
    """Chains of uses, each beginning with a tray.  `trays`: how many; `cases`: how many there
    are to make uses of them."""

    def __init__(self, trays: int, cases: int) -> None:
        self._trays = trays
        self._cases = cases
        self._follows: dict[Place, Places] = {}
        """The uses given: what each may come after."""
        self._before: dict[Place, Place] = {}
        self._after: dict[Place, Place] = {}
        self.there: Places = (1 << trays) - 1
        """The places that are there, but for those that are fixed."""
        self.contested: Places = 0
        """After a use that was not let in: the places that too many want."""
        self._free: Places = self.there

    def use(self, i: int, number: int = 0) -> Place:
        """The use that case `i` makes; `number` tells several of its uses apart."""
        return self._trays + number * self._cases + i

    def after_cases(self, cases: int, number: int = 0) -> Places:
        """The places after these uses, the cases given as bits."""
        return cases << self._trays + number * self._cases

    def add(self, use: Place, follows: Places) -> frozenset[int] | None:
        """Let a use in beside all others, which may change what they come after.

        Where that cannot be, nothing changes, and the cases are returned whose uses together
        have too few places: that of the one refused among them.
        """
        self._follows[use] = follows
        self.there |= 1 << use
        self._free |= 1 << use
        reached = self._find_place(use)
        if reached is None:
            return None
        self.contested = 0
        for one in reached:
            self.contested |= self._follows[one]
        del self._follows[use]
        self.there ^= 1 << use
        self._free ^= 1 << use
        return frozenset([(one - self._trays) % self._cases for one in reached])

    def remove(self, use: Place) -> None:
        """Take a use back.  Whoever came after it can come after what it came after."""
        before, after = self._before.pop(use), self._after.pop(use, None)
        del self._follows[use], self._after[before]
        self._free |= 1 << before
        self.there ^= 1 << use
        if after is None:
            self._free ^= 1 << use
        else:
            del self._before[after]
            left_out = self._find_place(after)
            assert left_out is None, "with one use fewer the others have no places"

    def fix(self, use: Place) -> None:
        """From now on the use stays after what it comes after."""
        self.there &= ~(1 << self._before[use])

    def has(self, use: Place) -> bool:
        return use in self._follows

    def tray_of(self, use: Place) -> int:
        while use >= self._trays:
            use = self._before[use]
        return use

    def _find_place(self, use: Place) -> list[Place] | None:
        """Find a place for a use, moving others.  None where that is done, else all uses that
        the search came by, `use` among them."""
        follows, after = self._follows, self._after
        reached = [use]
        wanted_by: dict[Place, Place] = {}
        unseen = self.there
        for one in reached:
            found = follows[one] & unseen
            free = found & self._free
            if free:
                self._move((free & -free).bit_length() - 1, one, wanted_by)
                return None
            unseen ^= found
            for place in each(found):
                wanted_by[place] = one
                reached.append(after[place])
        return reached

    def _move(self, place: Place, use: Place, wanted_by: dict[Place, Place]) -> None:
        """Put the use on a free place, whoever wanted its former one on that, and so on."""
        self._free ^= 1 << place
        while True:
            former = self._before.get(use)
            self._before[use] = place
            self._after[place] = use
            if former is None:
                return
            place, use = former, wanted_by[former]
