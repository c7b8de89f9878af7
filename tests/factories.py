"""Rows of `people` for tests. Records are never made here: they come from the deeds."""

from __future__ import annotations

from datetime import date

import factory

from training.people.models import Member, Organisation, User

PASSWORD = "correct horse battery"


class UserFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")
    full_name = factory.Sequence(lambda n: f"Person Number{n}")
    password = factory.django.Password(PASSWORD)


class OrganisationFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Organisation

    title = factory.Sequence(lambda n: f"Organisation {n}")
    kind = Organisation.Kind.HOSPITAL
    time_zone = "Europe/Oslo"


class MemberFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Member

    organisation = factory.SubFactory(OrganisationFactory)
    user = factory.SubFactory(UserFactory)
    role = Member.Role.EDUCATOR
    credential = "RN"
    from_day = date(2025, 1, 1)
