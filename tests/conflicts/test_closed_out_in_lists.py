"""A bore that is closed out says so in the list of jobs and on the first page, and nothing holds it there."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.models import Bore
from tests.conflicts.audit.signed_stories import close_out, damage
from tests.factories import BoreFactory, MarkFactory, line, person_in_role, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def bores():
    """Two bores of a job with work to come; both are held."""
    job = small_job()
    BoreFactory(job=job, name="Left to drill")
    Bore.objects.update(planned_finish_at=timezone.now() + timedelta(days=3))
    for bore in Bore.objects.all():
        store_assessment(bore.pk)
    return list(Bore.objects.order_by("pk"))


@pytest.fixture
def foreman(client, bores):
    client.force_login(person_in_role("Foreman", bores[0].job.organisation))
    return client


@pytest.mark.parametrize("name", ["jobs", "home"])
def test_the_closed_out_bore_says_so_and_the_other_holds(foreman, bores, name):
    def shown():
        page = " ".join(foreman.get(reverse(f"conflicts:{name}")).content.decode().split())
        return page.partition('<ul class="bores">')[2].partition("</ul> </section>")[0] or page

    assert shown().count("<strong>Holds:</strong>") == 2
    close_out(bores[0])
    assert shown().count("<strong>Holds:</strong>") == 1
    assert shown().count("<p>Closed out ") == 1
    # What is reported afterwards stands beside it, in red.
    mark = MarkFactory(job=bores[0].job, ref="HIT", geometry=line((30, -9), (30, 9)))
    store_assessment(bores[0].pk)
    damage(bores[0], mark, at=timezone.now())
    assert '<p class="is-stop"><svg' in shown()
    assert "What was seen since speaks against it:" in shown()
    assert "damage" in shown().partition("speaks against it:")[2].partition("</div>")[0].lower()


def test_where_its_figures_are_being_recalculated_the_list_sends_to_its_page(foreman, bores):
    close_out(bores[0])
    MarkFactory(job=bores[0].job, ref="NEW", geometry=line((30, -9), (30, 9)))
    page = " ".join(foreman.get(reverse("conflicts:jobs")).content.decode().split())
    assert "What was found since stands on its page." in page
