from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from deploy.kit.api import ModelSerializer
from scheduling.api.report_serializers import VerdictField
from scheduling.models import Case, PlanVersion


class PlanSerializer(ModelSerializer):
    """The plan in force, in the scenario format; what is not known is left out."""

    number = serializers.IntegerField(read_only=True)
    technique = serializers.CharField(source="technique.code", read_only=True)
    components = serializers.DictField(read_only=True)
    facts = serializers.DictField(read_only=True)
    confirmed: Any = serializers.SlugRelatedField("code", many=True, read_only=True)

    class Meta:
        model = PlanVersion
        fields = ("number", "technique", "components", "facts", "confirmed", "made_at")


class CaseSerializer(ModelSerializer):
    """A booked case.  `verdict` is null for a case that has ended or was cancelled."""

    # The range of an integer differs between databases, and with it the schema would.
    minutes = serializers.IntegerField(read_only=True)
    theatre = serializers.CharField(
        source="theatre.code", default=None, allow_null=True, read_only=True
    )
    surgeon = serializers.CharField(
        source="surgeon.name", default=None, allow_null=True, read_only=True
    )
    verdict = serializers.SerializerMethodField()
    plan = serializers.SerializerMethodField()
    reserved_units = serializers.SerializerMethodField()
    reserved_trays = serializers.SerializerMethodField()

    class Meta:
        model = Case
        fields = (
            "id",
            "ref",
            "theatre",
            "surgeon",
            "start",
            "minutes",
            "priority",
            "side",
            "status",
            "verdict",
            "plan",
            "reserved_units",
            "reserved_trays",
        )

    @extend_schema_field(VerdictField(allow_null=True))
    def get_verdict(self, case: Case) -> str | None:
        verdict: str | None = self.context["verdicts"].get(case.ref)
        return verdict

    @extend_schema_field(PlanSerializer(allow_null=True))
    def get_plan(self, case: Case) -> Any:
        plans = case.in_force  # type: ignore[attr-defined]
        return PlanSerializer(plans[0]).data if plans else None

    def get_reserved_units(self, case: Case) -> list[str]:
        return [held.unit.code for held in case.live_units]  # type: ignore[attr-defined]

    def get_reserved_trays(self, case: Case) -> list[str]:
        return [held.tray.code for held in case.live_trays]  # type: ignore[attr-defined]
