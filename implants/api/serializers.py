from __future__ import annotations

from rest_framework import serializers

from deploy.kit.api import ModelSerializer
from implants.models import Implant, Unit


class ImplantSerializer(ModelSerializer):
    """A catalogue implant.  `attributes` holds what it has of system, size, offset, ...; numbers
    are millimetres, sizes the maker's numbers.  `words` says it as a label does."""

    # The range of an integer differs between databases, and with it the schema would.
    lead_days = serializers.IntegerField(read_only=True, allow_null=True)
    attributes = serializers.DictField(read_only=True)
    words = serializers.CharField(source="in_words", read_only=True)

    class Meta:
        model = Implant
        fields = (
            "ref",
            "role",
            "name",
            "maker",
            "gtin",
            "lead_days",
            "replaced_on_use",
            "attributes",
            "words",
        )


class UnitSerializer(ModelSerializer):
    """One boxed implant.  `expiry` is inclusive, and null where the box does not expire;
    `expected_at` is set until its receipt is recorded; a non-empty `hold` keeps it from use;
    `seq` numbers its last movement."""

    # The range of an integer differs between databases, and with it the schema would.
    seq = serializers.IntegerField(read_only=True)
    implant = serializers.CharField(source="implant.ref", read_only=True)

    class Meta:
        model = Unit
        fields = (
            "code",
            "implant",
            "lot",
            "serial",
            "expiry",
            "does_not_expire",
            "state",
            "seq",
            "expected_at",
            "location",
            "owner",
            "hold",
        )
