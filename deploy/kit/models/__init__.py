from deploy.kit.models.append_only import AppendOnly, AppendOnlyError
from deploy.kit.models.credential import Credential
from deploy.kit.models.import_draft import ImportDraft
from deploy.kit.models.imported_file import ImportedFile
from deploy.kit.models.movement import AllowedMove, Movement
from deploy.kit.models.one_time_code import OneTimeCode
from deploy.kit.models.outbox_message import OutboxMessage
from deploy.kit.models.person import Person
from deploy.kit.models.proposal import Proposal
from deploy.kit.models.request_key import RequestKey
from deploy.kit.models.security_event import Outcome, SecurityEvent, What
from deploy.kit.models.site import Site
from deploy.kit.models.tries import Tries

__all__ = [
    "AllowedMove",
    "AppendOnly",
    "AppendOnlyError",
    "Credential",
    "ImportDraft",
    "ImportedFile",
    "Movement",
    "OneTimeCode",
    "OutboxMessage",
    "Outcome",
    "Person",
    "Proposal",
    "RequestKey",
    "SecurityEvent",
    "Site",
    "Tries",
    "What",
]
