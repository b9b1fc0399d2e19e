"""Claims and the boxes that may serve them: a matching that only ever grows.

A claim is let in if and only if it can be served together with all claims let in before, which is
so exactly when an augmenting path leads from it to a free box.  Along the path earlier claims
change boxes; none loses its own.  Taken in order of right, this gives the best set of claims in
that order and the greatest number of them (Edmonds & Fulkerson 1965: the sets that can be matched
are a matroid).
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.coverage.bits import Bits, each

Box = int
"""A unit, as its place in the list of an item's units: first expiring first, then unit code."""

Boxes = Bits
"""A set of boxes; the lowest is the one that is preferred."""


class Matching:
    """Claims (numbered as they are let in) against `boxes` boxes."""

    def __init__(self, boxes: int) -> None:
        self.wants: list[Boxes] = []
        self.box_of: list[Box] = []
        self.claim_of: dict[Box, int] = {}
        self._boxes: Boxes = (1 << boxes) - 1
        self._free: Boxes = self._boxes
        # All but the boxes that a search in vain came by.  Those belong to claims that want no
        # others, and that does not change while claims are let in: no later search need look.
        self._open: Boxes = self._free

    def let_in(self, wants: Boxes) -> int | None:
        """Serve a new claim beside all others; its number, or None where nothing can.

        `wants`: the boxes that may serve it.  Cost: at most every claim once.
        """
        claim, free = len(self.wants), wants & self._free
        if free:  # the usual case, without the bookkeeping of a search
            lowest = free & -free
            box = lowest.bit_length() - 1
            self._free ^= lowest
            self.wants.append(wants)
            self.box_of.append(box)
            self.claim_of[box] = claim
            return claim
        if not wants & self._open:
            return None
        self.wants.append(wants)
        self.box_of.append(-1)
        unseen = self._find_box(claim, self._open)
        if unseen is None:
            return claim
        self._open = unseen
        self.wants.pop()
        self.box_of.pop()
        return None

    def _find_box(self, claim: int, among: Boxes) -> Boxes | None:
        """Find one of these boxes for a claim that has none, moving others among them.  None where
        that is done, else the boxes that the search did not come by."""
        wants, claim_of = self.wants, self.claim_of
        reached = [claim]
        wanted_by: dict[Box, int] = {}
        for one in reached:
            found = wants[one] & among
            free = found & self._free
            if free:
                self._take((free & -free).bit_length() - 1, one, wanted_by)
                return None
            among ^= found
            for box in each(found):
                wanted_by[box] = one
                reached.append(claim_of[box])
        return among

    def _take(self, box: Box, claim: int, wanted_by: dict[Box, int]) -> None:
        """Put the claim on a free box, whoever wanted its former one on that, and so on."""
        self._free ^= 1 << box
        while True:
            former = self.box_of[claim]
            self.box_of[claim] = box
            self.claim_of[box] = claim
            if former not in wanted_by:
                return
            box, claim = former, wanted_by[former]

    def settle(self, order: Sequence[int]) -> None:
        """Give each claim, in this order of all, the first box that leaves the others servable.

        The result does not depend on the order in which the claims were let in.
        """
        if not self._settled_without_looking_ahead(order):
            left = -1
            for claim in order:
                for box in each(self.wants[claim] & left):
                    if box == self.box_of[claim] or self._move(claim, box, left):
                        left &= ~(1 << box)
                        break

    def _settled_without_looking_ahead(self, order: Sequence[int]) -> bool:
        """Give each claim the first box that those before it leave, if all are served so; else
        change nothing."""
        wants_of, left = self.wants, self._boxes
        box_of = [-1] * len(wants_of)
        for claim in order:
            wants = wants_of[claim] & left
            if not wants:
                return False
            lowest = wants & -wants
            left ^= lowest
            box_of[claim] = lowest.bit_length() - 1
        self.box_of, self._free = box_of, left
        self.claim_of = {box: claim for claim, box in enumerate(box_of)}
        return True

    def _move(self, claim: int, box: Box, left: Boxes) -> bool:
        """Put `claim` on another box if its holder can go elsewhere; else change nothing."""
        former, taken = self.box_of[claim], 1 << box
        self._free ^= 1 << former
        if self._free & taken:
            self._free ^= taken
        elif self._find_box(self.claim_of[box], left & ~taken) is not None:
            self._free ^= 1 << former
            return False
        self.box_of[claim] = box
        self.claim_of[box] = claim
        return True

    def rivals(self, wants: Boxes) -> list[int]:
        """The claims that keep a refused claim out: all that an alternating path reaches.

        Together with the refused claim they want fewer boxes than they are (Hall 1935): these
        boxes are exactly the rivals' own, one each.
        """
        wants_of, claim_of = self.wants, self.claim_of
        reached: list[int] = []
        unseen = ~wants
        queue = list(each(wants & ~self._free))
        for box in queue:
            holder = claim_of[box]
            reached.append(holder)
            further = wants_of[holder] & unseen
            if further:
                unseen ^= further
                queue += each(further & ~self._free)
        return sorted(reached)
