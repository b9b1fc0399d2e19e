from django.apps import AppConfig

from deploy.kit.guards import keep
from deploy.kit.ledger import keep_ledger, verify_too
from scheduling.guards import guards
from scheduling.loans.states import LOANS


class SchedulingConfig(AppConfig):
    name = "scheduling"
    verbose_name = "Scheduling"

    def ready(self) -> None:
        keep_ledger(self, LOANS)
        keep(self, guards())
        verify_too("scheduling.promises_check.breaches")
