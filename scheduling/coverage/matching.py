"""Claims and the boxes that may serve them: a matching that only ever grows.

A claim is let in if and only if it can be served together with all claims let in before, which is
so exactly when an augmenting path leads from it to a free box.  Along the path earlier claims
change boxes; none loses its own.  Taken in order of right, this gives the best set of claims in
that order and the greatest number of them (Edmonds & Fulkerson 1965: the sets that can be matched
are a matroid).
"""

from __future__ import annotations

from collections.abc import Sequence

Box = int
"""A unit, as its place in the list of an item's units: first expiring first, then unit code."""


class Matching:
    """Claims (numbered as they are let in) against boxes (numbered in the order of preference)."""

    def __init__(self) -> None:
        self.wants: list[Sequence[Box]] = []
        self.box_of: list[Box] = []
        self.claim_of: dict[Box, int] = {}
        # Boxes that a search in vain came by.  They belong to claims that want no others, and
        # that does not change while claims are let in: no later search need look at them.
        self._dead_ends: set[Box] = set()

    def let_in(self, wants: Sequence[Box]) -> int | None:
        """Serve a new claim beside all others; its number, or None where nothing can.

        `wants`: the boxes that may serve it.  Cost: at most every claim's boxes twice.
        """
        claim = len(self.wants)
        self.wants.append(wants)
        self.box_of.append(-1)
        tried = self._dead_ends.copy()
        if self._augment(claim, tried):
            return claim
        self._dead_ends = tried
        self.wants.pop()
        self.box_of.pop()
        return None

    def _augment(self, claim: int, tried: set[Box]) -> bool:
        """Find a box for `claim`, moving others along the path; `tried` boxes are not touched."""
        # Iterative depth first: a path may be as long as there are claims.  Whoever is reached
        # looks for a free box of its own before it asks another claim to move.
        path: list[tuple[int, Box]] = []
        stack = [(claim, iter(self.wants[claim]))]
        current: int | None = claim
        while stack:
            if current is not None:
                free = self._free(current, tried)
                if free is not None:
                    path.append((current, free))
                    for mover, new_box in path:
                        self.box_of[mover] = new_box
                        self.claim_of[new_box] = mover
                    return True
            owner, boxes = stack[-1]
            current = None
            for box in boxes:
                if box not in tried:
                    tried.add(box)
                    path.append((owner, box))
                    current = self.claim_of[box]
                    stack.append((current, iter(self.wants[current])))
                    break
            else:
                stack.pop()
                if path:
                    path.pop()
        return False

    def _free(self, claim: int, tried: set[Box]) -> Box | None:
        """The first box that the claim wants and nobody has."""
        taken = self.claim_of
        for box in self.wants[claim]:
            if box not in taken and box not in tried:
                return box
        return None

    def settle(self, order: Sequence[int]) -> None:
        """Give each claim, in `order`, the first box that leaves all the others servable.

        The result does not depend on the order in which the claims were let in.
        """
        fixed: set[Box] = set()
        for claim in order:
            for box in self.wants[claim]:
                if box in fixed or not self._move(claim, box, fixed):
                    continue
                fixed.add(box)
                break

    def _move(self, claim: int, box: Box, fixed: set[Box]) -> bool:
        """Put `claim` on `box` if its holder can go elsewhere; leaves all as it was if not."""
        former = self.box_of[claim]
        if box == former:
            return True
        holder = self.claim_of.get(box)
        del self.claim_of[former]
        if holder is not None and not self._augment(holder, fixed | {box}):
            self.claim_of[former] = claim
            return False
        self.box_of[claim] = box
        self.claim_of[box] = claim
        return True

    def rivals(self, wants: Sequence[Box]) -> list[int]:
        """The claims that keep a refused claim out: all that an alternating path reaches.

        Together with the refused claim they want fewer boxes than they are (Hall 1935): these
        boxes are exactly the rivals' own, one each.
        """
        reached: list[int] = []
        seen: set[Box] = set(wants)
        queue = list(seen)
        while queue:
            holder = self.claim_of.get(queue.pop())
            if holder is not None:
                reached.append(holder)
                further = [box for box in self.wants[holder] if box not in seen]
                seen.update(further)
                queue += further
        return sorted(reached)
