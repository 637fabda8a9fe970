"""The invented people of the finished job: they signed, and nobody can log in as them."""

from dataclasses import dataclass

from django.contrib.auth.models import Group, User

from locates import roles
from locates.models import Membership, Organisation


@dataclass(frozen=True)
class DemoPeople:
    """Who did the work of the finished job."""

    foreman: User
    safety_manager: User


def keep_demo_people(organisation: Organisation) -> DemoPeople:
    """The people, kept as members of the company."""
    return DemoPeople(
        foreman=_person("Ines", "Pallow", roles.FOREMAN, organisation),
        safety_manager=_person("Tobin", "Marl", roles.SAFETY_MANAGER, organisation),
    )


def _person(first: str, last: str, role: str, organisation: Organisation) -> User:
    person = User(username=f"{first}.{last}".lower(), first_name=first, last_name=last, is_active=False)
    person.set_unusable_password()
    person.save()
    person.groups.add(Group.objects.get(name=role))
    Membership.objects.create(user=person, organisation=organisation)
    return person
