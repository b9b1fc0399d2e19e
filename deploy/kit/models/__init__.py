from deploy.kit.models.import_draft import ImportDraft
from deploy.kit.models.imported_file import ImportedFile
from deploy.kit.models.movement import AllowedMove, Movement
from deploy.kit.models.outbox_message import OutboxMessage
from deploy.kit.models.person import Person
from deploy.kit.models.request_key import RequestKey
from deploy.kit.models.site import Site

__all__ = [
    "AllowedMove",
    "ImportDraft",
    "ImportedFile",
    "Movement",
    "OutboxMessage",
    "Person",
    "RequestKey",
    "Site",
]
