"""What a person was shown, sealed into the form: a decision says what it was made on."""

from __future__ import annotations

from django.core import signing

from deploy.kit.models import Person
from scheduling.confirming import Basis, basis_kept
from scheduling.models import Case

SALT = "scheduling.decision"
LONGEST_SECONDS = 12 * 60 * 60


def sealed(basis: Basis, *, case: Case, by: Person) -> str:
    return signing.dumps({"case": case.pk, "by": by.user.pk, "saw": basis.kept()}, salt=SALT)


def opened(text: str, *, case: Case, by: Person) -> Basis | None:
    """None for what is no seal of ours, of another case or person, or older than a day's work."""
    try:
        data = signing.loads(text, salt=SALT, max_age=LONGEST_SECONDS)
    except signing.BadSignature:
        return None
    if (data["case"], data["by"]) != (case.pk, by.user.pk):
        return None
    return basis_kept(data["saw"])
