"""What a form says about a difference of a count."""

from __future__ import annotations

from collections.abc import Mapping

from implants.models import CountLine
from implants.models.count import Explained
from implants.operations.counts import Explanation


def explanation_of(form: Mapping[str, str], line: CountLine) -> Explanation:
    """The fields `how-<line>` and `note-<line>`; without a known explanation it stays open."""
    how = form.get(f"how-{line.pk}", "")
    note = form.get(f"note-{line.pk}", "").replace("\0", "")[:90]
    return Explanation(Explained(how) if how in line.may_be else None, note)
