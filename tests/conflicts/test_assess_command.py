"""The assess command: its document, its table and its exit status."""

import json

import pytest
from django.core.management import CommandError, call_command

from conflicts.assess import assess
from tests import factories

AT = factories.PLANNED_START_AT
AT_TEXT = "2026-11-10T08:00:00-05:00"

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    bore = factories.small_job(name="Alder Street").bores.get()
    factories.DailyWalkFactory(bore=bore, walked_at=AT)
    return bore


def run(*arguments):
    """Exit status of the command."""
    try:
        call_command("assess", *arguments)
    except SystemExit as stop:
        return stop.code
    except CommandError as error:
        return error.returncode
    return 0


def test_json_is_the_document_and_nothing_else(bore, capsys):
    assert run("Alder Street", bore.name, "--format", "json", "--at", AT_TEXT) == 0
    assert json.loads(capsys.readouterr().out) == assess(bore, AT)


def test_the_status_is_1_when_something_holds(bore):
    bore.job.tickets.update(expires_at=None)
    assert run("Alder Street", bore.name, "--at", AT_TEXT) == 1


def test_the_table_fits_and_says_first_what_must_be_done(bore, capsys):
    factories.MarkFactory(
        job=bore.job, ref="A-REFERENCE-THAT-IS-LONG", operator=bore.job.operators.get(),
        geometry=factories.line((70, -15), (70, 15)),
    )  # fmt: skip
    assert run("Alder Street", bore.name, "--at", AT_TEXT) == 1
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 100
    assert lines[2].startswith("DO NOT DRILL. 3 checks must be settled first:")
    words = [line[14:20] for line in lines[3:] if line.startswith("  ") and line[2] != " "]
    assert words == sorted(words, key=lambda word: word != "HOLDS")
    assert any("unexposed" in line and "unknown" in line for line in lines)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("Elm Street", "B"), 'There is no job "Elm Street". Accepted: "Alder Street"'),
        (("Alder Street", "no such"), 'Job "Alder Street" has no bore "no such". Accepted: "B'),
        (("Alder Street", "B", "--at", "tomorrow"), "--at: found 'tomorrow'; accepted is a moment"),
        (("Alder Street", "B", "--at", "2026-11-10T08:00:00"), "with an offset"),
        (("Alder Street", "B", "--at", "2026-13-10T08:00:00Z"), "accepted is a moment"),
    ],
)
def test_bad_input_says_what_is_accepted_and_ends_with_2(bore, arguments, words):
    with pytest.raises(CommandError, match=words.replace("(", r"\(")) as refusal:
        call_command("assess", *arguments)
    assert refusal.value.returncode == 2


def test_two_organisations_with_a_job_of_one_name_are_told_apart(bore):
    other = factories.small_job(name="Alder Street", organisation=factories.OrganisationFactory())
    assert run("Alder Street", bore.name, "--at", AT_TEXT) == 2
    factories.DailyWalkFactory(bore=other.bores.get(), walked_at=AT)
    name = other.organisation.name
    assert run("Alder Street", other.bores.get().name, "--at", AT_TEXT, "--organisation", name) == 0
