"""A second opinion: what the coverage rules say, worked out by trying everything.

It reads plain scenario dictionaries (the file format, as parsed JSON) and shares nothing with the
engine: no value, no clock, no search.  It is slow on purpose and meant for small inputs: at most
four cases, five trays and six units of an item.  Nothing is clever here; each rule is written down
as it is said, and every question "can this be honoured together with those before it" is answered
by going through all assignments or all joint arrangements.

Where the rules can be read in two ways, this is the reading taken:

 1. A path to an attribute that the matched catalogue item does not have is not stated, just like a
    fact that the plan does not state: `not stated: <path>`.
 2. A condition with several paths asks for each of them: every path not stated is a question, even
    when another path already fails the condition.  What stands behind a condition that does not
    hold (a selection, the sides of a check) is not looked at and asks nothing.
 3. A condition that refers to a component with a fault does not hold and asks nothing more (the
    fault says it); a check with such a side has an unknown side and is a question by its code.
 4. A sum over something that is not a number is an unknown side.
 5. A planned rule that selects nothing because a path is not stated is both a question and a fault
    ("for whatever reason").
 6. A reserved tray is for the first set *that the case asks for* (its condition holds) with an
    option that names the tray's configuration; later sets that name it too are not tried.
 7. A reservation of a tray that failed leaves the set as if nothing had been reserved; the next
    reserved tray of that set is then a first one (held first, then conditional).
 8. Among the arrangements that honour all claims, the shown one is the least by case in time order,
    each case by: options (set by set, in the technique's order), number of packs, codes of the
    trays (set by set, in the order of the option), codes of the packs in order.
 9. `not in date`: the use-by date is before the local date of the end of the case.  A unit that
    does not expire comes last among the first-expiring.
10. A line of an implant that is replaced on use but has no lead days cannot be known to be
    delivered: it is not replaceable in the sense of sharing.
11. A local time that does not exist (spring) is taken with the offset before the change.
12. `after(t, m)` is the first such moment: when the time runs out at closing, it is closing time.
13. An order exactly at the cut-off is in time; a tray `arrives` exactly now is not overdue, nor is
    a unit; "by" and "before" for clocks: `ready <= needed_by` serves.
14. A unit that several short contingency claims may lean on is asked for one claim at a time; a
    case never leans twice on one unit (its own first leaning claim is a claim of that case).
15. A tray that is reserved, or free, for a case may serve it whatever its place; nothing is said
    of how far a case that is already out of theatre (out before now) may still use a tray, and
    such cases are left out of the random scenarios.
"""

from tests.coverage_engine.oracle.verdict import expect

__all__ = ["expect"]
