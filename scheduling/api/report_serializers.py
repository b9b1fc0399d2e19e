"""The shape of a report, for the schema: `scheduling.coverage.report_json` makes the values."""

from __future__ import annotations

from rest_framework import serializers

from deploy.kit.api import Serializer
from scheduling.coverage.report import Status, Verdict
from scheduling.coverage.values import Need


class VerdictField(serializers.ChoiceField):
    def __init__(self, **kwargs: object) -> None:
        super().__init__(choices=[(v.value, v.value) for v in Verdict], **kwargs)  # type: ignore[arg-type]


class ReasonSerializer(Serializer):
    """Why something is not held: a code, a sentence, and the code's own values beside them."""

    code = serializers.CharField()
    say = serializers.CharField()


class LeanSerializer(Serializer):
    """A shared contingency box, and the case whose contingency it is first."""

    unit = serializers.CharField()
    case = serializers.CharField()


class LineSerializer(Serializer):
    """One need for one item; quantity = held + conditional + shared + short."""

    need = serializers.ChoiceField(choices=[(n.value, n.value) for n in Need])
    item = serializers.CharField()
    quantity = serializers.IntegerField()
    held = serializers.IntegerField()
    conditional = serializers.IntegerField()
    shared = serializers.IntegerField()
    short = serializers.IntegerField()
    units = serializers.ListField(child=serializers.CharField())
    leans_on = LeanSerializer(many=True)
    because = ReasonSerializer(many=True)


class SetSerializer(Serializer):
    """One set of trays that the technique asks for."""

    purpose = serializers.CharField()
    status = serializers.ChoiceField(choices=[(s.value, s.value) for s in Status])
    option = serializers.ListField(child=serializers.CharField())
    trays = serializers.ListField(child=serializers.CharField())
    because = ReasonSerializer(many=True)


class CaseReportSerializer(Serializer):
    """The coverage of one case.  Times are local to the site, YYYY-MM-DDTHH:MM."""

    case = serializers.CharField()
    verdict = VerdictField()
    needed_by = serializers.CharField()
    out = serializers.CharField()
    faults = serializers.ListField(child=serializers.CharField())
    questions = serializers.ListField(child=serializers.CharField())
    sets = SetSerializer(many=True)
    packs = serializers.ListField(child=serializers.CharField())
    lines = LineSerializer(many=True)
    notes = ReasonSerializer(many=True)
    gave_up = serializers.BooleanField()
    ways_out = serializers.ListField(child=serializers.DictField())


class CaseCoverageSerializer(CaseReportSerializer):
    as_of = serializers.DateTimeField()


class ReportSerializer(Serializer):
    """The coverage of all cases of a scenario, in time order."""

    now = serializers.CharField()
    cases = CaseReportSerializer(many=True)
