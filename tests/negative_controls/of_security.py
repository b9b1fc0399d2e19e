"""What the rules of the security log refuse: name of the rule → the write that it must refuse."""

from __future__ import annotations

from collections.abc import Callable

from django.db import connection

from deploy.kit.models import What
from deploy.kit.security_log import record
from tests.negative_controls.house import House


def with_sql(sql: str) -> Callable[[House], None]:
    """By SQL: the model refuses these by itself."""

    def attempt(house: House) -> None:
        record(What.LOG_IN, who=house.by.user)
        with connection.cursor() as cursor:
            cursor.execute(sql)

    return attempt


CONTROLS: dict[str, Callable[[House], None]] = {
    "kit_security_event_no_update": with_sql("UPDATE kit_securityevent SET detail = 'another'"),
    "kit_security_event_no_delete": with_sql("DELETE FROM kit_securityevent"),
    "kit_security_event_no_truncate": with_sql("TRUNCATE kit_securityevent"),
}
