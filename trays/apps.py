from django.apps import AppConfig

from deploy.kit.ledger import keep_ledger
from trays.ledger import TRAYS


class TraysConfig(AppConfig):
    name = "trays"
    verbose_name = "Trays"

    def ready(self) -> None:
        keep_ledger(self, TRAYS)
