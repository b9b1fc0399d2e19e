from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from deploy.kit.api import ModelSerializer, Serializer
from scheduling.models import PickLine, PickList, PickListVersion, Scan
from scheduling.pick_lists.asking import AS_PRINTED, lines_as_printed
from scheduling.pick_lists.scan_values import Word


class PickListSerializer(ModelSerializer):
    """A list for one case, or for one theatre's day.  `newest` is the version in force."""

    case = serializers.CharField(source="case.ref", default=None, allow_null=True, read_only=True)
    theatre = serializers.CharField(
        source="theatre.code", default=None, allow_null=True, read_only=True
    )
    newest = serializers.IntegerField(read_only=True)

    class Meta:
        model = PickList
        fields = ("code", "case", "theatre", "day", "newest")


class PickLineSerializer(ModelSerializer):
    """A box or a tray to fetch, in the words that were printed; exactly one of `unit`, `tray`."""

    position = serializers.IntegerField(read_only=True)
    case = serializers.CharField(read_only=True)
    unit = serializers.CharField(allow_null=True, read_only=True)
    tray = serializers.CharField(allow_null=True, read_only=True)
    ticked = serializers.BooleanField(read_only=True)

    class Meta:
        model = PickLine
        fields = tuple(AS_PRINTED)


class VersionSerializer(ModelSerializer):
    """One printing, with the verdicts as they were printed.  `replaced_by` names a later one."""

    code = serializers.CharField(source="pick_list.code", read_only=True)
    number = serializers.IntegerField(read_only=True)
    verdicts = serializers.SerializerMethodField()
    replaced_by = serializers.SerializerMethodField()
    lines = serializers.SerializerMethodField()

    class Meta:
        model = PickListVersion
        fields = (
            "code",
            "number",
            "printed_at",
            "reserved",
            "replaced_by",
            "verdicts",
            "lines",
        )

    def get_verdicts(self, version: PickListVersion) -> dict[str, str]:
        return {each["case"]: each["verdict"] for each in version.content["sections"]}

    def get_replaced_by(self, version: PickListVersion) -> int | None:
        newest: int = self.context["newest"]
        return newest if newest > version.number else None

    @extend_schema_field(PickLineSerializer(many=True))
    def get_lines(self, version: PickListVersion) -> Any:
        return lines_as_printed(version)  # texts and numbers, which need no serializer


class ScanRequestSerializer(Serializer):
    """What the scanner sent, and the version of the list that is in hand."""

    text = serializers.CharField(max_length=4000, trim_whitespace=False)
    version = serializers.IntegerField(min_value=1)


class ScanSerializer(ModelSerializer):
    """What was read and answered.  `line` is the position of the line that it points to."""

    answer = serializers.ChoiceField(choices=[(word.value, word.value) for word in Word])
    code = serializers.CharField(source="reason.code")
    asked = serializers.CharField(source="reason.asked")
    read_as = serializers.CharField(source="reason.read")
    note = serializers.CharField(source="reason.note")
    cautions = serializers.ListField(child=serializers.CharField(), source="reason.cautions")
    line = serializers.IntegerField(source="line.position", default=None, allow_null=True)

    class Meta:
        model = Scan
        fields = (
            "id",
            "read",
            "answer",
            "code",
            "asked",
            "read_as",
            "note",
            "cautions",
            "line",
            "at",
        )
        read_only_fields = fields
