"""Which days choose a drilled bore: each from the first to the last of what was recorded of its drilling."""

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest
from openpyxl import load_workbook

from conflicts.audit.parts import SECTIONS
from conflicts.models.audit_excused import count_excused, excused
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_unwatched import count_unwatched, unwatched
from tests import factories
from tests.conflicts.audit.signed_stories import (
    AT,
    bore_with_mark,
    close_out,
    crossing,
    release,
    rod,
    sign_variance,
    take_out,
    variance,
    watch,
    withdraw,
)

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def days_of(bore, part, count):
    """The days from three before `AT` to nine after it on which a part lists anything of a bore."""
    days = []
    for days_after in range(-3, 10):
        day = (AT + days_after * DAY).date()
        filters = AuditFilters(bore.job.organisation_id, day_from=day, day_to=day)
        found = part(filters, None, 9)
        assert count(filters) == len(found)
        if found:
            days.append(days_after)
    return days


def unwatched_days(bore):
    return days_of(bore, unwatched, count_unwatched)


def test_a_bore_drilled_under_a_shift_and_closed_out_days_later_is_listed_on_each_of_these_days():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")])
    rod(bore, at=AT + timedelta(hours=2))
    close_out(bore, at=AT + 3 * DAY)
    assert unwatched_days(bore) == [0, 1, 2, 3]
    for span in ({"day_to": AT.date()}, {"day_from": (AT + 3 * DAY).date()}):
        assert count_unwatched(AuditFilters(bore.job.organisation_id, **span)) == 1
    for span in ({"day_to": (AT - DAY).date()}, {"day_from": (AT + 4 * DAY).date()}):
        assert count_unwatched(AuditFilters(bore.job.organisation_id, **span)) == 0


def test_each_record_of_the_drilling_begins_and_ends_the_days():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")], at=AT + DAY)
    assert unwatched_days(bore) == [1]
    watch(bore, mark, at=AT + 3 * DAY)
    assert unwatched_days(bore) == [1, 2, 3]
    first = rod(bore, at=AT)
    assert unwatched_days(bore) == [0, 1, 2, 3]
    factories.HolePassFactory(bore=bore, made_at=AT + 4 * DAY, logged_at=AT + 5 * DAY)
    assert unwatched_days(bore) == [0, 1, 2, 3, 4, 5]
    take_out(first)
    assert unwatched_days(bore) == [1, 2, 3, 4, 5]


def test_a_pass_that_is_logged_days_after_it_was_through_is_of_the_days_on_which_it_was_made():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")])
    made = {"made_at": AT + DAY, "ended_at": AT + 2 * DAY}
    factories.HolePassFactory(bore=bore, logged_at=AT + 5 * DAY, **made)
    assert unwatched_days(bore) == [0, 1, 2]


def test_what_was_taken_back_is_no_part_of_the_days():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")])
    withdraw(release(bore, [crossing("G-1")], at=AT + 2 * DAY), at=AT + 2 * DAY)
    reamed = factories.HolePassFactory(bore=bore, made_at=AT + DAY, logged_at=AT + DAY)
    assert unwatched_days(bore) == [0, 1]
    factories.HolePassWithdrawalFactory(hole_pass=reamed)
    assert unwatched_days(bore) == [0]


def test_a_day_is_that_of_the_clock_at_the_job():
    bore, _ = bore_with_mark()
    # 9.30 pm EST of the day of `AT` is the next day by UTC.
    rod(bore, at=datetime(2026, 11, 11, 2, 30, tzinfo=UTC))
    release(bore, [crossing("G-1")])
    assert bore.job.time_zone == "America/New_York"
    assert unwatched_days(bore) == [0]


def test_a_crossing_under_variance_is_listed_on_each_day_of_the_drilling():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1", worst_m=0.2, verdict="short")])
    rod(bore, at=AT + timedelta(hours=2))
    close_out(bore, at=AT + 2 * DAY)
    sign_variance(variance(bore, mark), at=AT, verdict="short", worst_case_m=0.2, required_m=0.3)
    assert days_of(bore, excused, count_excused) == [0, 1, 2]


@pytest.mark.parametrize(("days_after", "count"), [(-1, 0), (0, 1), (1, 1), (3, 1), (4, 0)])
def test_the_page_and_both_files_list_it_on_these_days(client, days_after, count):
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")])
    close_out(bore, at=AT + 3 * DAY)
    client.force_login(factories.person_in_role("Safety manager"))
    day = f"{AT + days_after * DAY:%Y-%m-%d}"
    query = {"section": "unwatched", "day_from": day, "day_to": day}
    assert len(client.get("/audit/", query).context["page"].rows) == count
    listed = client.get("/audit/part.csv", query)
    assert listed.status_code == (200 if count else 400)
    if count:
        assert len(list(csv.DictReader(io.StringIO(listed.content.decode())))) == count
        book = load_workbook(io.BytesIO(client.get("/audit/audit.xlsx", query).content))
        assert len(list(book["unwatched"].rows)) == 1 + count


def test_the_page_and_the_workbook_say_which_days_count(client):
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")])
    client.force_login(factories.person_in_role("Safety manager"))
    book = load_workbook(io.BytesIO(client.get("/audit/audit.xlsx").content))
    about = {row[0].value: row[1].value for row in book["about"].rows}
    for section in SECTIONS:
        assert section.days in client.get("/audit/", {"section": section.code}).content.decode()
        assert section.days in about[f"sheet {section.code}"]
