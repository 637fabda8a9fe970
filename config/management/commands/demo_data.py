"""`manage.py demo_data`: the invented jobs where there is no job yet, and one login for each role."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.contrib.auth.models import Group, User
from django.db import transaction
from django.utils import timezone

from conflicts.demo.load import load_demo_jobs
from locates.models import Membership, Organisation
from locates.recorded_command import RecordedCommand


class Command(RecordedCommand):
    """Fill an empty database for the demo."""

    help = "Load the invented jobs if the database holds no job, and make one login for each role."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the private file of logins: role to password."""
        parser.add_argument("--logins", type=Path, required=True)

    def handle(self, *, logins: Path, **options: Any) -> None:
        """Do both; what is there already stays."""
        for job in load_demo_jobs(timezone.localdate()):
            self.stdout.write(f'Loaded the invented job "{job.name}".')
        with transaction.atomic():
            company = Organisation.objects.filter(jobs__isnull=False).order_by("jobs__created_at").first()
            for role, password in json.loads(logins.read_text()).items():
                user = self.make_login(role, password)
                if company is not None:
                    Membership.objects.get_or_create(user=user, defaults={"organisation": company})

    def make_login(self, role: str, password: str) -> User:
        """Make a login in its role's group, or bring its password back to the one in the file."""
        user, _ = User.objects.get_or_create(username=role)
        if not user.check_password(password):
            user.set_password(password)
        user.is_staff = True  # may see the admin's pages; the group says which
        user.save()
        user.groups.set([Group.objects.get(name=role.replace("_", " ").capitalize())])
        return user
