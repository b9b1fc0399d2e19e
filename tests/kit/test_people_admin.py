"""Accounts, badges and PINs in the admin; roles are proposed there and confirmed by another."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import Group, User
from django.urls import reverse

from deploy.kit.credentials import person_of_badge, pin_fits
from deploy.kit.models import Credential, Proposal, SecurityEvent
from deploy.kit.role_change import roles_of
from tests.factories import PASSWORD, PIN, with_pin


@pytest.fixture
def admin(client_of, administrator):
    return client_of(administrator)


def change_account(browser, user: User, **values):
    form = {
        "username": user.username,
        "is_active": "on",
        "roles": [group.pk for group in user.groups.all()],
        "last_login_0": "",
        **values,
    }
    return browser.post(reverse("admin:auth_user_change", args=[user.pk]), form, follow=True)


def keys(*names: str) -> list[int]:
    return [Group.objects.get(name=name).pk for name in names]


def test_a_role_is_proposed_here_and_given_when_another_confirms(
    admin, client_of, theatre_team, administrator, other_administrator
):
    with_pin(administrator)
    user = theatre_team.user
    page = change_account(admin, user, roles=keys("sterile services"))
    assert "proposed, not changed" in page.text
    assert roles_of(user) == ["theatre"]
    proposal = Proposal.objects.get()
    address = reverse("admin:kit_proposal_change", args=[proposal.pk])
    assert "Confirm: do it now" in admin.get(address).text
    signed = {"_confirm": "1", "signed_with": PIN}
    assert "you proposed it" in admin.post(address, signed, follow=True).text
    other = client_of(with_pin(other_administrator))
    refused = other.post(address, {"_confirm": "1", "signed_with": "guessed"}, follow=True)
    assert "Not signed: that is not your PIN or password." in refused.text
    assert "Not signed" in other.post(address, {"_confirm": "1"}, follow=True).text
    assert roles_of(user) == ["theatre"]
    confirmed = other.post(address, signed, follow=True)
    assert "Confirmed. theatre: from theatre to sterile services" in confirmed.text
    assert roles_of(user) == ["sterile services"]


def test_a_proposal_can_be_withdrawn_and_not_changed_otherwise(admin, theatre_team):
    change_account(admin, theatre_team.user, roles=keys("administrator"))
    proposal = Proposal.objects.get()
    address = reverse("admin:kit_proposal_change", args=[proposal.pk])
    admin.post(address, {"_withdraw": "1", "said": "something else"})
    proposal.refresh_from_db()
    assert proposal.said == "theatre: from theatre to administrator"
    assert (proposal.closed_at is None, proposal.confirmed_by) == (False, None)


def test_what_else_is_changed_proposes_nothing(admin, theatre_team):
    change_account(admin, theatre_team.user, first_name="Theatre Two")
    theatre_team.user.refresh_from_db()
    assert theatre_team.user.first_name == "Theatre Two"
    assert not Proposal.objects.exists()


def test_the_address_for_mails_is_entered_with_the_name(admin, theatre_team):
    change_account(admin, theatre_team.user, email="theatre@ottermere.example")
    theatre_team.user.refresh_from_db()
    assert theatre_team.user.email == "theatre@ottermere.example"


def test_nobody_is_raised_by_what_the_form_does_not_show(admin, theatre_team):
    values = {"is_superuser": "on", "is_staff": "on", "user_permissions": [1], "groups": [1]}
    change_account(admin, theatre_team.user, **values)
    theatre_team.user.refresh_from_db()
    assert not theatre_team.user.is_superuser
    assert not theatre_team.user.is_staff
    assert roles_of(theatre_team.user) == ["theatre"]
    assert not theatre_team.user.user_permissions.exists()


def test_an_account_is_made_without_a_role_and_closed_instead_of_deleted(admin):
    form = {"username": "new", "usable_password": "true"}
    form |= {"password1": PASSWORD, "password2": PASSWORD}
    admin.post(reverse("admin:auth_user_add"), form)
    user = User.objects.get(username="new")
    assert roles_of(user) == []
    change_account(admin, user, is_active="")
    user.refresh_from_db()
    assert not user.is_active
    assert admin.get(reverse("admin:auth_user_delete", args=[user.pk])).status_code == 403
    rows = SecurityEvent.objects.filter(what="account").order_by("pk")
    assert list(rows.values_list("detail", "about__username")) == [
        ("made", "new"),
        ("closed", "new"),
    ]


def test_a_new_account_gets_its_place_of_work_with_it(admin, client_of, site):
    add = reverse("admin:auth_user_add")
    assert f'<option value="{site.pk}" selected>' in admin.get(add).text
    form = {"username": "new", "usable_password": "true", "place_of_work": site.pk}
    admin.post(add, form | {"password1": PASSWORD, "password2": PASSWORD})
    user = User.objects.get(username="new")
    assert user.person.site == site
    change_account(admin, user, first_name="New")
    assert User.objects.get(username="new").person.site == site


def test_an_account_without_a_place_of_work_is_seen_and_gets_one(admin, site):
    user = User.objects.create_user("old")
    accounts = reverse("admin:auth_user_changelist")
    assert "none: opens no page" in admin.get(accounts).text
    change_account(admin, user, place_of_work=site.pk)
    assert User.objects.get(username="old").person.site == site
    assert "none: opens no page" not in admin.get(accounts).text


@pytest.mark.parametrize(
    ("whose", "may"),
    [("theatre_team", True), ("administrator", True), ("other_administrator", False)],
)
def test_another_administrators_password_is_not_set_here(admin, whose, may, request):
    """Else one person could be both people of a two-person act."""
    user = request.getfixturevalue(whose).user
    form = {"password1": PASSWORD, "password2": PASSWORD, "usable_password": "true"}
    answer = admin.post(reverse("admin:auth_user_password_change", args=[user.pk]), form)
    user.refresh_from_db()
    assert (answer.status_code, user.check_password(PASSWORD)) == (302 if may else 403, may)
    assert SecurityEvent.objects.filter(what="password").exists() is may


def test_a_badge_and_a_first_pin_are_given(admin, theatre_team):
    form = {"person": theatre_team.pk, "badge": "badge-9", "pin": "4071"}
    admin.post(reverse("admin:kit_credential_add"), form)
    assert person_of_badge("badge-9") == theatre_team
    assert pin_fits(theatre_team.user, "4071")
    page = reverse("admin:kit_credential_change", args=[Credential.objects.get().pk])
    assert "4 to 12 digits" in admin.post(page, {"pin": "12"}).text
    admin.post(page, {"take_badge_away": "on"})
    assert person_of_badge("badge-9") is None
    assert pin_fits(theatre_team.user, "4071")


def test_a_badge_of_somebody_else_is_refused_in_words(admin, theatre_team, manager):
    page = reverse("admin:kit_credential_add")
    admin.post(page, {"person": theatre_team.pk, "badge": "badge-9"})
    refused = admin.post(page, {"person": manager.pk, "badge": "badge-9"})
    assert "This badge is somebody else&#x27;s." in refused.text
    assert not Credential.objects.filter(person=manager).exists()


def test_another_administrators_badge_and_pin_are_not_set_here(admin, other_administrator):
    form = {"person": other_administrator.pk, "badge": "badge-9", "pin": "4071"}
    refused = admin.post(reverse("admin:kit_credential_add"), form)
    assert "set by nobody else" in refused.text
    assert not Credential.objects.exists()


def test_the_security_log_is_read_and_never_edited(admin, administrator, theatre_team):
    change_account(admin, theatre_team.user, is_active="")
    event = SecurityEvent.objects.get(what="account")
    assert "closed" in admin.get(reverse("admin:kit_securityevent_changelist")).text
    address = reverse("admin:kit_securityevent_change", args=[event.pk])
    assert admin.get(address).status_code == 200
    assert admin.post(address, {"detail": "x"}).status_code == 403
    delete = reverse("admin:kit_securityevent_delete", args=[event.pk])
    assert admin.post(delete, {"post": "yes"}).status_code == 403
    assert SecurityEvent.objects.get(pk=event.pk).detail == "closed"


@pytest.mark.parametrize("demo", [True, False])
def test_a_clock_is_set_in_a_demonstration_alone(admin, site, demo, settings):
    settings.DEMO = demo
    page = admin.get(reverse("admin:kit_site_change", args=[site.pk]))
    assert ("clock_set_to" in page.text) is demo
