from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import AllowedMove, Movement, Site
from implants.models import Implant, Supplier, Unit
from scheduling.loans.states import LoanState
from trays.models import Tray


class Loan(models.Model):
    """What one supplier lends for a while: trays and boxes as one consignment.

    `state`, `delivery_note` and `expected_at` are set by the loan's movements, and in no other
    way.  `expected_at`: when it should be here; once it has arrived, when its check-in is due.
    `due_back`: the day on which it goes back.  `place`: where its boxes are put at check-in.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField("loan number", max_length=24)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(
        max_length=32, choices=LoanState, default=NOT_ENTERED, blank=True, editable=False
    )
    seq = models.PositiveIntegerField(default=0, editable=False)
    delivery_note = models.CharField(max_length=64, blank=True, editable=False)
    expected_at = models.DateTimeField(null=True, blank=True, editable=False)
    due_back = models.DateField(null=True, blank=True)
    place = models.CharField(max_length=64, blank=True)
    why = models.CharField(max_length=200, blank=True, help_text="For the house alone.")

    class Meta:
        ordering = ["-pk"]
        default_permissions = ()
        permissions = [
            ("borrow", "May ask for loans, receive them and send them back"),
            ("check_in_loan_trays", "May check in the trays of a loan"),
        ]
        constraints = [
            models.UniqueConstraint(name="scheduling_loan_code", fields=["site", "code"]),
        ]

    def __str__(self) -> str:
        return self.code


class LoanMove(AllowedMove):
    """An allowed move of a loan; `scheduling.loans.states` is the table."""


class LoanMovement(Movement):
    """One entry of a loan's ledger; `reason` says what was changed or promised."""

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="movements")
    move = models.ForeignKey(LoanMove, on_delete=models.PROTECT, related_name="+")
    delivery_note = models.CharField(max_length=64, blank=True)
    expected_at = models.DateTimeField(null=True, blank=True)

    class Meta(Movement.Meta):
        abstract = False
        ordering = ["loan", "seq"]
        constraints = [
            *Movement.Meta.constraints,
            models.UniqueConstraint(name="scheduling_loan_movement_seq", fields=["loan", "seq"]),
        ]

    def __str__(self) -> str:
        return f"{self.loan} {self.seq}: {self.move}"


class LoanTray(models.Model):
    """A tray of a loan, and what was found when it was checked in.

    `certificate`: number or name of the lender's certificate of decontamination; empty: none came.
    `weight_grams` None: not weighed.  What it lacks stands with the tray itself.
    """

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="trays")
    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="+")
    checked_at = models.DateTimeField(null=True)
    checked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    is_sound = models.BooleanField(default=False)
    certificate = models.CharField(max_length=64, blank=True)
    has_instructions = models.BooleanField(default=False)
    weight_grams = models.PositiveIntegerField(null=True)
    note = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["loan", "pk"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(name="scheduling_loan_tray_once", fields=["loan", "tray"]),
            models.CheckConstraint(
                name="scheduling_loan_tray_checked_by_a_person",
                condition=Q(checked_at__isnull=True, checked_by__isnull=True)
                | Q(checked_at__isnull=False, checked_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tray} of {self.loan}"


class LoanLine(models.Model):
    """So many boxes of one item, as the delivery note has them.  `not_delivered`: so many of them
    were not in the consignment."""

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="lines")
    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField()
    not_delivered = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["loan", "implant__ref"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(name="scheduling_loan_line_once", fields=["loan", "implant"]),
            models.CheckConstraint(
                name="scheduling_loan_line_quantity",
                condition=Q(quantity__gte=1, not_delivered__lte=F("quantity")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.implant.ref}"


class LoanBox(models.Model):
    """A box of a loan, from the promise on."""

    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="boxes")
    unit = models.OneToOneField(Unit, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        default_permissions = ()

    def __str__(self) -> str:
        return str(self.unit)
