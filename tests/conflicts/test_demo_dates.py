"""The invented jobs of the demo: loaded once, and of the week they are loaded in."""

import json
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.utils.dateparse import parse_datetime

from conflicts.assess import assess
from conflicts.demo.load import RUNNING_JOB, WRITTEN_FOR, load_demo_jobs, running_job
from locates.models import Job
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db

EASTERN = ZoneInfo("America/New_York")
LOAD_DAYS = [
    date(2026, 11, 25),  # a Wednesday in winter, summer time in the file
    date(2027, 7, 12),  # a Monday in summer
    date(2027, 3, 14),  # the Sunday on which summer time begins
    date(2026, 10, 31),  # the Saturday before it ends
    date(2026, 9, 28),  # the day the file is written for
]


def noon(day):
    return datetime(day.year, day.month, day.day, 12, 0, tzinfo=EASTERN)


def documents(job, at):
    return {bore.name: assess(bore, at) for bore in job.bores.all()}


def holding(document):
    return {check["code"] for check in document["checks"] if check["holds"]}


def test_both_jobs_are_loaded_once_and_only_into_an_empty_database():
    assert [job.name for job in load_demo_jobs(WRITTEN_FOR)] == ["Quillmark Street", "Tinder Loop"]
    assert load_demo_jobs(WRITTEN_FOR) == []
    assert Job.objects.count() == 2


def test_a_database_that_holds_a_job_is_left_alone():
    JobFactory()
    assert load_demo_jobs(WRITTEN_FOR) == []
    assert Job.objects.count() == 1


def test_the_demo_command_loads_them_as_of_today(tmp_path):
    logins = tmp_path / "logins.json"
    logins.write_text("{}")
    call_command("demo_data", logins=logins, stdout=StringIO())
    starts = Job.objects.get(name="Quillmark Street").bores.get(name="Main run").planned_start_at
    assert timedelta(0) < starts - datetime.now(UTC) < timedelta(days=9)


@pytest.mark.parametrize("today", LOAD_DAYS, ids=date.isoformat)
def test_the_story_is_the_same_on_every_day_it_is_loaded(today):
    running, _ = load_demo_jobs(today)
    told = documents(running, noon(today))
    verdicts = [(one["mark_ref"], one["verdict"]) for one in told["Main run"]["crossings"]]
    assert len(verdicts) == 25
    assert [one for one in verdicts if one[1] != "clear"] == [
        ("S-2", "short"),
        ("S-3", "unexposed"),
        ("W-3", "stale"),
        ("G-3", "stale"),
        ("R-1", "unexposed"),
        ("U-1", "unexposed"),
        ("S-6", "overlap"),
        ("E-4", "unexposed"),
    ]
    assert holding(told["Main run"]) == {
        "tickets", "responses", "crossings", "surface", "day", "watch_holes", "duties",
    }  # fmt: skip
    assert holding(told["Street crossing"]) == {"responses", "crossings", "day", "watch_holes", "duties"}
    assert len(told["Main run"]["coverage_gaps"]) == 2


@pytest.mark.parametrize("day", range(7))
@pytest.mark.parametrize("week", [date(2026, 11, 2), date(2027, 3, 8), date(2027, 6, 28)], ids=date.isoformat)
def test_on_every_weekday_the_work_lies_ahead_and_what_was_done_lies_behind(week, day):
    today = week + timedelta(days=day)
    document = json.loads(running_job(today))
    first, last = (noon(today).replace(hour=hour) for hour in (0, 23))
    for feature in document["features"]:
        moments = {
            name: parse_datetime(text).astimezone(EASTERN)
            for name, text in feature["properties"].items()
            if name.endswith("_at")
        }
        for name, moment in moments.items():
            assert moment.weekday() < 5, (name, moment)
            if name in ("planned_start_at", "planned_finish_at", "expires_at"):
                assert moment > last
            else:
                assert moment < first
        if "planned_start_at" in moments:
            assert moments["planned_start_at"] - last < timedelta(days=7)


def test_clock_times_outlast_the_change_from_summer_time():
    tickets = json.loads(running_job(date(2026, 12, 1)))["features"][:2]
    starts = [parse_datetime(one["properties"]["legal_start_at"]) for one in tickets]
    assert [start.isoformat()[11:] for start in starts] == ["07:00:00-05:00"] * 2
    answered = tickets[0]["properties"]["responses"][0]["responded_at"]
    assert answered.endswith("T09:55:00-05:00")


def test_on_the_day_it_is_written_for_no_moment_of_the_file_changes():
    written = json.loads(RUNNING_JOB.read_bytes())
    assert json.loads(running_job(WRITTEN_FOR)) == written
