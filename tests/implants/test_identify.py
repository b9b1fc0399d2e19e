from __future__ import annotations

from datetime import date

import pytest
from django.db import IntegrityError

from implants.identify import implant_on_label
from implants.models import LabelCode
from implants.udi import ScanRead, read_scan
from tests import factories

GTIN, OTHER_GTIN = "02345678901234", "02000000000015"
HIBC = "+A999ABC123DE0/$+1234567Y"


def read(text: str) -> ScanRead:
    return read_scan(text, today=date(2027, 3, 1))


@pytest.fixture
def implant(site):
    implant = factories.implant(site)
    implant.gtin = GTIN
    implant.save()
    return implant


def test_by_the_gtin_of_its_row(implant, site, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert implant_on_label(read(f"01{GTIN}10L1"), site) == implant


@pytest.mark.parametrize(
    ("code", "label"), [("A999ABC123DE0", HIBC), (OTHER_GTIN, f"01{OTHER_GTIN}10L1")]
)
def test_by_another_code_on_its_labels(implant, site, code, label):
    assert implant_on_label(read(label), site) is None
    LabelCode.objects.create(site=site, implant=implant, code=code)
    assert implant_on_label(read(label), site) == implant


def test_another_sites_catalogue_is_not_ours(implant, stranger):
    assert implant_on_label(read(f"01{GTIN}10L1"), stranger.site) is None


def test_an_asset_is_no_implant(implant, site, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert implant_on_label(read("]C18004BASE-2"), site) is None


def test_a_code_names_one_implant(implant, site):
    LabelCode.objects.create(site=site, implant=implant, code="A999ABC123DE0")
    with pytest.raises(IntegrityError):
        LabelCode.objects.create(
            site=site, implant=factories.implant(site, "STEM-13"), code="A999ABC123DE0"
        )
