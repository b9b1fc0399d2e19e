from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from deploy.kit.models import Person
from scheduling.demonstration.ordering import make_demo_orders
from scheduling.demonstration.people import COORDINATOR


class Command(BaseCommand):
    help = "Make the demonstration's suppliers, past uses and orders.  Once, after its people."

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Only for a demonstration.  Set MUSTER_DEMO=1 if this is one.")
        by = Person.objects.filter(user__groups__name=COORDINATOR).select_related("site").first()
        if by is None:
            raise CommandError("Make the demonstration's people first (make_demo_people).")
        for order in make_demo_orders(site=by.site, by=by):
            self.stdout.write(f"{order.code} {order.supplier}: {order.state}")
