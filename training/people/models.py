"""Organisations, members, families, caregivers."""

from __future__ import annotations

import unicodedata
import uuid
from datetime import date, datetime
from zoneinfo import ZoneInfo, available_timezones

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _


def check_time_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(_("“%(name)s” is no time zone; write one such as Europe/Oslo."), params={"name": name})


class UserManager(BaseUserManager["User"]):
    def create_user(self, username: str, password: str | None, **fields: object) -> User:
        user = self.model(username=self.model.normalize_username(username), **fields)
        user.set_password(password)
        user.save()
        return user

    def get_by_natural_key(self, username: str | None) -> User:
        name = self.model.normalize_username(username or "")
        if len(name) > self.model._meta.get_field("username").max_length:
            raise self.model.DoesNotExist  # SQLite compares no text of more than 50,000 letters, and fails
        return self.get(username__iexact=name)


class User(AbstractBaseUser):
    """A person who signs in. What they may do follows from their memberships, never from the account."""

    username = models.CharField(_("user name or e-mail"), max_length=254, unique=True)
    full_name = models.CharField(_("full name"), max_length=200)
    is_active = models.BooleanField(default=True)
    is_role_account = models.BooleanField(
        _("role account"), default=False, help_text=_("Used by several people to read on; nobody signs with it.")
    )
    session_round = models.PositiveIntegerField(default=0, editable=False)  # one more, and every session is over

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS = ["full_name"]

    objects = UserManager()

    class Meta:
        constraints = [models.UniqueConstraint(Lower("username"), name="user_name_is_unique_in_any_case")]

    def __str__(self) -> str:
        return self.full_name

    def get_full_name(self) -> str:
        return self.full_name

    @classmethod
    def normalize_username(cls, username: str) -> str:
        """One spelling of each name: composed, trimmed, in lower case. SQLite by itself folds only a to z."""
        return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", username).strip().casefold())

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Sessions end when the password or the round changes."""
        value = f"{self.password} {self.session_round}"
        return salted_hmac("training.people.User.session", value, secret=secret, algorithm="sha256").hexdigest()


class AccountEntry(models.Model):
    """What an administrator did to somebody's account, in words that outlive both. Shown to both; never changed."""

    class What(models.TextChoices):
        UNLOCKED = "unlocked", _("a lock lifted")
        RESET = "reset", _("a link to set a new password given")
        SECOND_FACTOR = "second_factor", _("the second factor taken off")
        CLOSED = "closed", _("the account closed")
        REOPENED = "reopened", _("the account opened again")

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="account_entries")
    organisation = models.ForeignKey("Organisation", on_delete=models.PROTECT, related_name="+")
    what = models.CharField(max_length=15, choices=What)
    because = models.CharField(max_length=300)
    by_name = models.CharField(max_length=200)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_what_display()}: {self.because}"

    @property
    def day(self) -> date:
        return self.at.astimezone(ZoneInfo(self.organisation.time_zone)).date()


class Organisation(models.Model):
    """A hospital programme or a home-care agency; owns its staff, its families' files and its curriculum."""

    class Kind(models.TextChoices):
        HOSPITAL = "hospital", _("hospital programme")
        AGENCY = "agency", _("home-care agency")

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    title = models.CharField(_("name"), max_length=120, unique=True)
    kind = models.CharField(_("kind"), max_length=10, choices=Kind)
    time_zone = models.CharField(_("time zone"), max_length=64, validators=[check_time_zone])
    is_invented = models.BooleanField(default=False, help_text=_("Made by the demo; holds no real record."))
    assigned_only = models.BooleanField(
        _("educators see only the families assigned to them"),
        default=False,
        help_text=_("Supervisors, administrators and auditors see all families either way."),
    )
    second_factor_required = models.BooleanField(_("a second factor is required of members"), default=False)

    def __str__(self) -> str:
        return self.title


class MemberQuerySet(models.QuerySet["Member"]):
    def visible_to(self, member: Member) -> MemberQuerySet:
        """This member's colleagues, and those who have left."""
        return self.filter(organisation=member.organisation_id)


class Member(models.Model):
    """A person's place in an organisation. Ends with a last day, is never deleted."""

    class Role(models.TextChoices):
        EDUCATOR = "educator", _("educator")
        SUPERVISOR = "supervisor", _("supervisor")
        ADMINISTRATOR = "administrator", _("administrator")
        AUDITOR = "auditor", _("auditor")

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="members")
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(_("role"), max_length=15, choices=Role)
    credential = models.CharField(
        _("licence or credential"), max_length=30, blank=True, help_text=_("As printed after the name, such as RN.")
    )
    from_day = models.DateField(_("from"))
    through = models.DateField(_("last day"), null=True, blank=True)

    objects = MemberQuerySet.as_manager()

    class Meta:
        ordering = ["user__full_name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["organisation", "user"], name="member_once_in_an_organisation"),
            models.CheckConstraint(
                name="member_days_in_order", condition=Q(through=None) | Q(through__gte=F("from_day"))
            ),
        ]

    def __str__(self) -> str:
        return self.signed_name

    @property
    def observer_id(self) -> str:
        """How this member is named in records."""
        return str(self.public_id)

    @property
    def signed_name(self) -> str:
        name = self.user.full_name
        return f"{name}, {self.credential}" if self.credential else name

    def today(self, now: datetime) -> date:
        return now.astimezone(ZoneInfo(self.organisation.time_zone)).date()

    @property
    def sees_assigned_only(self) -> bool:
        """Whether they see a family only while it is assigned to them."""
        return self.role == Member.Role.EDUCATOR and self.organisation.assigned_only


class FamilyQuerySet(models.QuerySet["Family"]):
    def visible_to(self, member: Member) -> FamilyQuerySet:
        """The families whose file this member's organisation keeps; those assigned to them, where it wants that."""
        rows = self.filter(organisation=member.organisation_id)
        if not member.sees_assigned_only:
            return rows
        now = timezone.now()  # whoever asks may see it now; which date they ask about is another matter
        return rows.filter(pk__in=Assignment.objects.of(member).at(now).values("family"))


class Family(models.Model):
    """One patient and the caregivers around them, as one organisation's file.

    A projection of the file's `family`, `closing`, `reopening` and `offer_accepted` records, but for the organisation,
    which is whose chain it is.
    """

    class Why(models.TextChoices):
        """Why a file is closed."""

        GONE_HOME = "gone_home", _("gone home")
        MOVED = "moved", _("moved away")
        RECOVERED = "recovered", _("recovered")
        DIED = "died", _("died")

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="families")
    name = models.CharField(_("family"), max_length=200)
    patient_name = models.CharField(_("patient's full name"), max_length=200)
    patient_called = models.CharField(_("what to call them"), max_length=80)
    patient_born = models.DateField(_("birth date"), null=True, blank=True)
    time_zone = models.CharField(_("time zone"), max_length=64, validators=[check_time_zone])
    site = models.CharField(_("site"), max_length=60, blank=True, default="")
    closed_on = models.DateField(_("closed on"), null=True, blank=True)
    closed_why = models.CharField(_("why it is closed"), max_length=10, choices=Why, blank=True)
    handed_over_on = models.DateField(_("handed over on"), null=True, blank=True)
    handed_over_to = models.CharField(_("handed over to"), max_length=120, blank=True)

    objects = FamilyQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        indexes = [models.Index(fields=["organisation", "name"], name="family_by_organisation")]
        constraints = [
            models.CheckConstraint(
                name="family_closed_with_a_reason",
                condition=Q(closed_on=None, closed_why="") | Q(closed_on__isnull=False) & ~Q(closed_why=""),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def today(self, now: datetime) -> date:
        """The local date where the patient is."""
        return now.astimezone(self.zone).date()

    def is_closed_on(self, day: date) -> bool:
        """Whether the file is closed on a local day; the day of the closing is the first."""
        return self.closed_on is not None and self.closed_on <= day

    def is_handed_over_on(self, day: date) -> bool:
        return self.handed_over_on is not None and self.handed_over_on <= day


class CaregiverQuerySet(models.QuerySet["Caregiver"]):
    def visible_to(self, member: Member) -> CaregiverQuerySet:
        """Those of the families visible to this member."""
        return self.filter(family__in=Family.objects.visible_to(member))

    def of(self, user: User) -> CaregiverQuerySet:
        """The places in families that this account stands for."""
        return self.filter(user=user.pk)


class Caregiver(models.Model):
    """A person who gives care in one family. A projection of the file's `caregiver` records, but for the account."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    family = models.ForeignKey(Family, on_delete=models.PROTECT, related_name="caregivers")
    full_name = models.CharField(_("full name"), max_length=200)
    called = models.CharField(_("what to call them"), max_length=80)
    relation = models.CharField(_("who they are to the patient"), max_length=80)
    born = models.DateField(_("birth date"), null=True, blank=True)
    is_patient = models.BooleanField(_("is the patient"), default=False)
    from_day = models.DateField(_("from"), null=True, blank=True)
    through = models.DateField(_("last day"), null=True, blank=True)
    sets = models.JSONField(_("agreed sets"), default=list, blank=True)
    user = models.ForeignKey(
        User, on_delete=models.PROTECT, related_name="caregiving", null=True, blank=True, verbose_name=_("account")
    )

    objects = CaregiverQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["family"], condition=Q(is_patient=True), name="caregiver_patient_once_in_a_family"
            ),
            models.UniqueConstraint(
                fields=["family", "user"], condition=Q(user__isnull=False), name="caregiver_account_once_in_a_family"
            ),
            models.CheckConstraint(
                name="caregiver_days_in_order",
                condition=Q(through=None) | Q(from_day=None) | Q(through__gte=F("from_day")),
            ),
        ]

    def __str__(self) -> str:
        return self.full_name

    @property
    def case_id(self) -> str:
        """How this caregiver is named in a case."""
        return str(self.public_id)


class AssignmentQuerySet(models.QuerySet["Assignment"]):
    def of(self, member: Member) -> AssignmentQuerySet:
        return self.filter(member=member.pk)

    def at(self, now: datetime) -> AssignmentQuerySet:
        """Those in force at that moment."""
        return self.filter(since__lte=now).filter(Q(until=None) | Q(until__gt=now))


class Assignment(models.Model):
    """That a member works with a family, from a moment until a moment: an ending closes the file at once.

    reason: why somebody opened a family for themself in an emergency; empty where it was assigned. Never deleted.
    """

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="assignments")
    family = models.ForeignKey(Family, on_delete=models.PROTECT, related_name="assignments")
    since = models.DateTimeField(_("since"))
    until = models.DateTimeField(_("until"), null=True, blank=True)
    reason = models.CharField(_("reason"), max_length=200, blank=True)

    objects = AssignmentQuerySet.as_manager()

    class Meta:
        ordering = ["since", "pk"]
        indexes = [models.Index(fields=["member", "family"], name="assignment_by_member")]
        constraints = [
            models.CheckConstraint(
                name="assignment_moments_in_order", condition=Q(until=None) | Q(until__gte=F("since"))
            ),
            models.UniqueConstraint(
                fields=["member", "family"], condition=Q(until=None), name="assignment_open_once_for_a_member"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member} works with {self.family}"
