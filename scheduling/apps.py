from django.apps import AppConfig

from deploy.kit.guards import keep
from deploy.kit.ledger import verify_too
from scheduling.guards import guards


class SchedulingConfig(AppConfig):
    name = "scheduling"
    verbose_name = "Scheduling"

    def ready(self) -> None:
        keep(self, guards())
        verify_too("scheduling.promises_check.breaches")
