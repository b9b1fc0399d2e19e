from django.apps import AppConfig

from deploy.kit.guards import keep
from deploy.kit.ledger import keep_ledger
from implants.ledger import ORDERS, UNITS, guards


class ImplantsConfig(AppConfig):
    name = "implants"
    verbose_name = "Implants"

    def ready(self) -> None:
        keep_ledger(self, UNITS)
        keep_ledger(self, ORDERS)
        keep(self, guards())
