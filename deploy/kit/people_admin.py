"""Accounts, their places of work, badges and PINs, for the administrator.

Roles are not set here but proposed: they take two people.  Nobody is deleted: accounts are closed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import admin, messages
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.forms import AdminUserCreationForm, UserChangeForm
from django.contrib.auth.models import Group, User
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from deploy.kit.address import address_of
from deploy.kit.credentials import check_pin, is_free, set_badge, set_pin
from deploy.kit.models import Credential, Person, Site, What
from deploy.kit.role_change import propose_roles, roles_of
from deploy.kit.security_log import record
from deploy.kit.site_admin import ModelAdmin, ModelForm

if TYPE_CHECKING:
    _UserChangeForm = UserChangeForm[User]
    _UserCreationForm = AdminUserCreationForm[User]
    _UserAdmin = UserAdmin[User]
    _ChoiceOfSite = forms.ModelChoiceField[Site]
else:  # generic for the type checker only
    _UserChangeForm, _UserAdmin = UserChangeForm, UserAdmin
    _UserCreationForm, _ChoiceOfSite = AdminUserCreationForm, forms.ModelChoiceField

admin.site.unregister((User, Group))


def may_change_secrets_of(by: Any, user: User) -> bool:
    """Whoever could become the second person by another's secret would make two people one."""
    return user == by or not user.has_perm("kit.change_roles")


class PlaceOfWork(_ChoiceOfSite):
    def __init__(self) -> None:
        super().__init__(
            queryset=Site.objects.order_by("name"),
            required=False,
            help_text="Without one the account opens no page.  Empty: stays as it is.",
        )


class NewAccountForm(_UserCreationForm):
    """The only site of a house is offered as the place of work."""

    place_of_work = PlaceOfWork()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        sites = Site.objects.all()[:2]
        self.fields["place_of_work"].initial = sites[0] if len(sites) == 1 else None


class AccountForm(_UserChangeForm):
    place_of_work = PlaceOfWork()
    roles = forms.ModelMultipleChoiceField(
        queryset=Group.objects.order_by("name"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="A change is proposed here, and done when another administrator confirms it "
        "under Proposals.  A surgeon's account is then named under Surgeons.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["roles"].initial = self.instance.groups.all()
        person = Person.objects.filter(user=self.instance.pk).first()
        self.fields["place_of_work"].initial = person and person.site_id


@admin.register(User)
class AccountAdmin(_UserAdmin):
    form = AccountForm
    add_form = NewAccountForm
    add_fieldsets = (
        (
            None,
            {
                "classes": ("wide",),
                "fields": (
                    *("username", "place_of_work"),
                    *("usable_password", "password1", "password2"),
                ),
            },
        ),
    )
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("first_name", "last_name", "email", "place_of_work")}),
        ("Access", {"fields": ("is_active", "roles", "last_login", "date_joined")}),
    )
    readonly_fields = ("last_login", "date_joined")
    list_display = ("username", "first_name", "last_name", "place", "roles", "is_active")
    list_select_related = ("person__site",)
    list_filter = ("groups", "is_active")

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).prefetch_related("groups")

    @admin.display(description="place of work")
    def place(self, user: User) -> str:
        person: Person | None = getattr(user, "person", None)
        return person.site.name if person else "none: opens no page"

    @admin.display(description="roles")
    def roles(self, user: User) -> str:
        return ", ".join(group.name for group in user.groups.all())

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: User, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        address = address_of(request)
        if not change:
            record(What.ACCOUNT, who=request.user, about=obj, address=address, detail="made")
        elif "is_active" in form.changed_data:
            detail = "opened" if obj.is_active else "closed"
            record(What.ACCOUNT, who=request.user, about=obj, address=address, detail=detail)
        if place := form.cleaned_data.get("place_of_work"):
            Person.objects.update_or_create(user=obj, defaults={"site": place})
        wanted = sorted(group.name for group in form.cleaned_data.get("roles", ()))
        if change and wanted != roles_of(obj):
            propose_roles(user=obj, roles=wanted, by=request.user, now=timezone.now())
            messages.warning(
                request, "The roles are proposed, not changed: another administrator confirms them."
            )

    def user_change_password(
        self, request: HttpRequest, id: str, form_url: str = ""
    ) -> HttpResponse:
        user = self.get_object(request, id)
        if user is not None and not may_change_secrets_of(request.user, user):
            raise PermissionDenied(
                "An administrator's password is set by that administrator, or anew on the machine."
            )
        before = user.password if user else ""
        response = super().user_change_password(request, id, form_url)
        if user and User.objects.get(pk=user.pk).password != before:
            address = address_of(request)
            record(What.PASSWORD, who=request.user, about=user, address=address)
        return response


@admin.register(Person)
class PersonAdmin(ModelAdmin):
    list_display = ("__str__", "user", "roles", "site")
    list_filter = ("site", "user__groups")
    search_fields = ("user__username", "user__first_name", "user__last_name")
    autocomplete_fields = ("user",)

    def get_queryset(self, request: HttpRequest) -> Any:
        return (
            super()
            .get_queryset(request)
            .select_related("user", "site")
            .prefetch_related("user__groups")
        )

    @admin.display(description="role")
    def roles(self, person: Person) -> str:
        return ", ".join(group.name for group in person.user.groups.all())


class CredentialForm(ModelForm):
    """What is left empty stays as it is."""

    badge = forms.CharField(
        required=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        help_text="Scan it.  Empty: stays as it is.",
    )
    take_badge_away = forms.BooleanField(required=False)
    pin = forms.CharField(
        required=False,
        label="PIN",
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
        help_text="A first one, to be changed by the person.  Empty: stays as it is.",
    )

    def clean_pin(self) -> str:
        pin = str(self.cleaned_data["pin"])
        if pin:
            check_pin(pin)
        return pin

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        person = cleaned.get("person") or Person.objects.filter(credential=self.instance.pk).first()
        if person is None:
            return cleaned  # which the field itself has refused
        if cleaned.get("badge") and not is_free(cleaned["badge"], person):
            self.add_error("badge", "This badge is somebody else's.")
        if not may_change_secrets_of(self.acting, person.user):  # type: ignore[attr-defined]
            raise ValidationError("An administrator's badge and PIN are set by nobody else.")
        return cleaned


@admin.register(Credential)
class CredentialAdmin(ModelAdmin):
    form = CredentialForm
    list_display = ("person", "has_badge", "has_pin")
    search_fields = ("person__user__username",)
    autocomplete_fields = ("person",)

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).select_related("person__user")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        return ("person",) if obj else ()

    @admin.display(boolean=True)
    def has_badge(self, credential: Credential) -> bool:
        return credential.badge_hash is not None

    @admin.display(boolean=True, description="has PIN")
    def has_pin(self, credential: Credential) -> bool:
        return bool(credential.pin_hash)

    def get_form(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        form = super().get_form(request, *args, **kwargs)
        form.acting = request.user  # type: ignore[attr-defined]
        return form

    def save_model(self, request: HttpRequest, obj: Credential, form: Any, change: bool) -> None:
        if not change:
            super().save_model(request, obj, form, change)
        given, address = form.cleaned_data, address_of(request)
        if given["badge"] or given["take_badge_away"]:
            badge = "" if given["take_badge_away"] else given["badge"]
            set_badge(person=obj.person, badge=badge, by=request.user, address=address)
        if given["pin"]:
            set_pin(person=obj.person, pin=given["pin"], by=request.user, address=address)
