from django.apps import AppConfig

from deploy.kit.guards import keep
from deploy.kit.ledger import keep_ledger
from trays.ledger import TRAYS, guards


class TraysConfig(AppConfig):
    name = "trays"
    verbose_name = "Trays"

    def ready(self) -> None:
        keep_ledger(self, TRAYS)
        keep(self, guards())
