"""The rules as triggers: put in place, put back after what drops them, and missed when gone."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import IntegrityError, connection, models, transaction

from deploy.kit import guards
from deploy.kit.guards import Effect, Guard
from implants.models import Unit
from tests import factories

CHANGES = "implants_unit_changes_by_movement"


def settled() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


@pytest.fixture
def unit(site) -> Unit:
    made = factories.unit(factories.implant(site))
    settled()
    return made


def test_names_are_given_once_and_fit_both_databases():
    for vendor in ("sqlite", "postgresql"):
        names = [trigger.name for trigger in guards.kept(vendor)]
        assert len(names) > 35
        assert len(set(names)) == len(names)
        assert max(map(len, names)) <= 63  # PostgreSQL cuts longer ones off


@pytest.mark.django_db
def test_after_the_migrations_every_rule_is_kept():
    assert guards.faults(connection) == []


def test_a_rule_that_is_gone_is_missed_and_put_back(unit):
    guards.lift(connection, [CHANGES])
    missing = f"implants_unit: the database does not keep the rule {CHANGES}"
    assert guards.faults(connection) == [missing]
    guards.install(connection)
    assert guards.faults(connection) == []


def test_a_rule_that_says_something_else_is_missed(unit):
    """As after an upgrade of the program, or a hand that helped."""
    there = next(each for each in guards.kept(connection.vendor) if each.name == CHANGES)
    assert isinstance(there, Guard)
    weaker = Guard(name=CHANGES, table=there.table, before="UPDATE", when="1 = 0", says="never")
    with connection.cursor() as cursor:
        for statement in guards.replacing(weaker, connection.vendor):
            cursor.execute(statement)
    assert [CHANGES in fault for fault in guards.faults(connection)] == [True]


def test_a_rule_that_is_switched_off_is_missed(unit):
    """Only PostgreSQL has a switch; on SQLite it can only be dropped."""
    off = (
        f"ALTER TABLE implants_unit DISABLE TRIGGER {CHANGES}"
        if connection.vendor == "postgresql"
        else f"DROP TRIGGER {CHANGES}"
    )
    with connection.cursor() as cursor:
        cursor.execute(off)
    assert [CHANGES in fault for fault in guards.faults(connection)] == [True]


def test_the_check_at_start_says_what_to_do(unit, settings):
    settings.DEMO = True  # whose site may have the clock of the cast

    def check() -> None:
        call_command("check", deploy=True, databases=["default"], tags=["database"])

    check()
    guards.lift(connection, [CHANGES])
    with pytest.raises(SystemCheckError, match=f"{CHANGES}.*\n.*manage.py migrate"):
        check()


def test_an_effect_is_a_trigger_of_both_databases():
    effect = Effect(name="e", table="t", do="UPDATE u SET n = NEW.n")
    assert effect.body("sqlite") == (
        'CREATE TRIGGER "e" AFTER INSERT ON "t" BEGIN UPDATE u SET n = NEW.n; END'
    )
    assert effect.body("postgresql") == "BEGIN UPDATE u SET n = NEW.n; RETURN NULL; END"


@pytest.mark.django_db(transaction=True)
def test_a_table_that_is_made_anew_keeps_its_rules_after_the_next_migrate():
    """SQLite makes a table anew to change a column, drops its triggers in silence, and refuses
    where another table's trigger refers to it: so the rules come off before a migration."""
    old = Unit._meta.get_field("location")
    new = models.CharField(max_length=65, blank=True)
    new.set_attributes_from_name("location")
    new.model = Unit
    # As `migrate` announces it: with something to do, then as done.
    guards.before_migrate(using="default", plan=["something"])
    with connection.schema_editor() as editor:
        editor.alter_field(Unit, old, new, strict=True)
    with connection.schema_editor() as editor:
        editor.alter_field(Unit, new, old, strict=True)
    if connection.vendor == "sqlite":
        assert any(CHANGES in fault for fault in guards.faults(connection))
    call_command("migrate", verbosity=0, stdout=StringIO())
    assert guards.faults(connection) == []


@pytest.mark.django_db(transaction=True)
def test_outside_of_a_transaction_the_rules_hold_too(site):
    unit = factories.unit(factories.implant(site))
    with pytest.raises(IntegrityError, match="by a movement only"), transaction.atomic():
        Unit.objects.filter(pk=unit.pk).update(state="wasted")
    unit.refresh_from_db()
    assert unit.state == "on the shelf"
