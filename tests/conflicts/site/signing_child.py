"""A process that signs walks one after the other, and writes the id of each once it is acknowledged."""

import sys
from uuid import UUID, uuid4

import django

django.setup()

from django.contrib.auth import get_user_model  # noqa: E402 - models come after the set-up

from conflicts.desk.sign_walk import sign_walk  # noqa: E402
from conflicts.models import Bore, DailyWalk  # noqa: E402
from tests.signing import signing  # noqa: E402

bore = Bore.objects.select_related("job").get(pk=UUID(sys.argv[1]))
person = get_user_model().objects.get(pk=int(sys.argv[2]))
while True:
    walk = DailyWalk(
        pk=uuid4(),
        bore=bore,
        marks_intact=True,
        device_checked=True,
        device="receiver 7",
        holes_open=True,
    )
    with signing(person):
        sign_walk(walk, by=person)
    sys.stdout.write(f"{walk.pk}\n")
    sys.stdout.flush()
