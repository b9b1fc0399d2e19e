"""Take a workbook in, look at it, write it.  Nothing is changed until it is written."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.imports.importing import Proposal, import_workbook, propose
from deploy.kit.models import ImportDraft, Person
from deploy.kit.workbooks.reading import Progress
from scheduling.errors import Refused
from scheduling.workbooks.findings import findings_of
from scheduling.workbooks.registry import BY_SLUG

LONGEST_NAME = 200


@transaction.atomic
def take_workbook(*, kind: str, name: str, data: bytes, by: Person) -> ImportDraft:
    """Keep the file; the person's earlier drafts of the kind that were not written are left."""
    ImportDraft.objects.filter(by=by, kind=kind, written_at=None).delete()
    return ImportDraft.objects.create(
        site=by.site, by=by, kind=kind, name=name[:LONGEST_NAME], data=data
    )


def look_at_workbook(*, draft: ImportDraft, now: datetime) -> Proposal:
    """Read the file and keep what was found.  Outside a transaction, so that `rows_read` is seen
    by others while it goes on."""
    proposal = propose(
        BY_SLUG[draft.kind],
        bytes(draft.data),
        site=draft.site,
        now=now,
        progress=_counting(draft),
    )
    _keep(draft, proposal)
    return proposal


def write_workbook_in(
    *, draft: ImportDraft, by: Person, now: datetime, second: Person | None = None
) -> Proposal:
    """Write all of the file, or nothing: then the draft says what stands in the way now.

    Refused (draft_written, draft_not_read); AlreadyImported; TwoPeopleNeeded.
    """
    if draft.written_at is not None:
        raise Refused("draft_written", name=draft.name)
    if draft.findings is None:
        raise Refused("draft_not_read", name=draft.name)
    kind = BY_SLUG[draft.kind]
    proposal = propose(kind, bytes(draft.data), site=draft.site, now=now, progress=_counting(draft))
    with transaction.atomic():
        written = ImportDraft.objects.select_for_update().get(pk=draft.pk).written_at is not None
        if written:
            raise Refused("draft_written", name=draft.name)
        if proposal.ok:
            proposal = proposal.as_read()
            proposal = import_workbook(proposal, by=by, now=now, second=second)
        _keep(draft, proposal)
        if proposal.ok:
            draft.written_at, draft.data, draft.second = now, b"", second
            draft.save(update_fields=["written_at", "data", "second"])
    return proposal


def _keep(draft: ImportDraft, proposal: Proposal) -> None:
    draft.findings = findings_of(proposal)
    draft.refused = proposal.refused_workbook() if proposal.has_refused_rows else None
    draft.save(update_fields=["findings", "refused"])


def _counting(draft: ImportDraft) -> Progress:
    rows = ImportDraft.objects.filter(pk=draft.pk)

    def count(rows_read: int, rows_all: int) -> None:
        rows.update(rows_read=rows_read, rows_all=rows_all)

    count(0, 0)
    return count
