from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from deploy.kit.api import ModelSerializer, Serializer
from trays.models import Configuration, Instrument, Tray


class InstrumentSerializer(ModelSerializer):
    """A kind of instrument.  `attributes` holds what it has of system, size, diameter, ..."""

    attributes = serializers.DictField(read_only=True)
    words = serializers.CharField(source="in_words", read_only=True)

    class Meta:
        model = Instrument
        fields = ("ref", "role", "name", "attributes", "words")


class CountLineSerializer(Serializer):
    """So many of one instrument."""

    ref = serializers.CharField(source="instrument.ref")
    quantity = serializers.IntegerField(min_value=1)


class SheetSerializer(Serializer):
    """The count sheet in force; its lines in tray order."""

    number = serializers.IntegerField()
    contents = CountLineSerializer(many=True)


class ConfigurationSerializer(ModelSerializer):
    """What a kind of tray holds.  Turnarounds are minutes of sterile services' opening time."""

    # The range of an integer differs between databases, and with it the schema would.
    turnaround_minutes = serializers.IntegerField(read_only=True)
    fast_track_minutes = serializers.IntegerField(read_only=True, allow_null=True)
    count_sheet = serializers.SerializerMethodField()

    class Meta:
        model = Configuration
        fields = (
            "code",
            "name",
            "kind",
            "turnaround_minutes",
            "fast_track_minutes",
            "count_sheet",
        )

    @extend_schema_field(SheetSerializer(allow_null=True))
    def get_count_sheet(self, configuration: Configuration) -> Any:
        sheets = configuration.in_force  # type: ignore[attr-defined]
        return SheetSerializer(sheets[0]).data if sheets else None


class TraySerializer(ModelSerializer):
    """A physical tray: on site with `ready_at`, awaited with `expected_at`, or on hold with
    neither.  `seq` numbers its last movement.  `missing` is what this very tray lacks of
    its count sheet."""

    # The range of an integer differs between databases, and with it the schema would.
    seq = serializers.IntegerField(read_only=True)
    configuration = serializers.CharField(source="configuration.code", read_only=True)
    version = serializers.IntegerField(source="version.number", read_only=True)
    missing = CountLineSerializer(source="missing_lines", many=True, read_only=True)

    class Meta:
        model = Tray
        fields = (
            "code",
            "asset",
            "configuration",
            "version",
            "stage",
            "seq",
            "ready_at",
            "expected_at",
            "sterile_until",
            "location",
            "owner",
            "note",
            "missing",
        )
