"""One bore from the first answer to the audit, as a coordinator, a foreman and a safety manager see it."""

import io
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, Reassessment, RecordMaking
from conflicts.reassess import run as compute
from conflicts.record.make import run as make_record
from locates.local_time import write_local
from tests.factories import (
    PASSWORD,
    FacilityOperatorFactory,
    MarkFactory,
    ResponseFactory,
    TestHoleFactory,
    line,
    point,
    small_job,
)
from tests.pdf_reading import page_texts, photo_count, squeezed
from tests.photo_files import jpeg
from tests.screens import DESK, PHONE, pages_by_role

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

ON_A_PHONE = {"viewport": PHONE, "has_touch": True}


def zone_of_daylight() -> str:
    """A zone in which no midnight, which ends a walk and a release, comes in the middle of the story."""
    new_york = timezone.now().astimezone(ZoneInfo("America/New_York"))
    return "America/New_York" if 2 <= new_york.hour < 21 else "Asia/Tokyo"


@pytest.fixture
def bore() -> Bore:
    """A bore of today that passes a gas line with room to spare and a sewer with too little.

    Neither operator has answered. Required is 1 ft, and under the sewer 0.25 m are planned.
    """
    now = timezone.now()
    job = small_job(name="Alder Street", time_zone=zone_of_daylight())
    ticket, gas = job.tickets.get(), job.operators.get()
    job.operators.update(name="Millbrook Gas")
    job.marks.update(ref="G-1")
    sewer = FacilityOperatorFactory(job=job, name="Tarn Sewers")
    mark = MarkFactory(
        job=job,
        operator=sewer,
        ref="S-1",
        facility_type="sewer_drain",
        geometry=line((70, -15), (70, 15)),
        ticket=ticket,
    )
    TestHoleFactory(job=job, mark=mark, ticket=ticket, position=point(70, 0), depth_to_top_m=1.55)
    ticket.responses.all().delete()
    for operator in (gas, sewer):
        ResponseFactory(ticket=ticket, operator=operator, response="awaiting", responded_at=None)
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(
        name="North run",
        planned_start_at=now - timedelta(hours=1),
        planned_finish_at=now + timedelta(days=1),
    )
    bore = job.bores.get()
    store_assessment(bore.pk)
    return bore


def follow(page: Page, name: str) -> None:
    """Tap a link of a phone's page, and be on the next."""
    with page.expect_navigation():
        page.get_by_role("link", name=name).tap()


class Crew:
    """The three at their screens, and the workers behind the site."""

    def __init__(self, opened: Callable[..., Page], url: str, bore: Bore) -> None:
        self.url, self.bore, self.zone = url, bore, bore.job.time_zone
        home = reverse("conflicts:home")
        self.coordinator = opened("Coordinator", home, viewport=DESK)
        self.foreman = opened("Foreman", home, **ON_A_PHONE)
        self.safety_manager = opened("Safety manager", home, viewport=DESK)

    def open(self, page: Page, name: str, *more) -> None:
        """Open a page of the bore once a worker has computed what waits."""
        for key in Reassessment.objects.filter(state="queued").values_list("pk", flat=True):
            compute(key)
        page.goto(self.url + reverse(name, args=[self.bore.pk, *more]))

    def holding(self) -> list[str]:
        """What the foreman's phone says holds, in short."""
        self.open(self.foreman, "conflicts:bore")
        return (
            self.foreman.get_by_role("list", name="What holds, in short")
            .get_by_role("link")
            .all_inner_texts()
        )

    def watch(self, ref: str, pass_made: str, gap: str) -> None:
        """The foreman logs the watch that is next, on the page of the bore's watches."""
        page = self.foreman
        follow(page, f"Watch the {pass_made} pass {ref}")
        page.locator("label.yes").tap()
        page.get_by_label("Gap measured").fill(gap)
        page.get_by_role("button", name="Sign the watch").tap()
        expect(page.locator(".messages")).to_contain_text(f"Signed: {ref}, {pass_made}.")


@pytest.fixture
def crew(browser: Browser, live_server, bore) -> Iterator[Crew]:
    with ExitStack() as stack:

        def opened(role: str, address: str, **options) -> Page:
            # A client each: one client's login ends that of the person before.
            own = stack.enter_context(pages_by_role(browser, live_server.url, Client()))
            return own(role, address, **options)

        yield Crew(opened, live_server.url, bore)


@pytest.fixture
def photo(tmp_path) -> Path:
    made = tmp_path / "path.jpg"
    made.write_bytes(jpeg())
    return made


def test_a_bore_from_the_first_answer_to_the_audit(crew, photo):
    assert crew.holding() == [
        "Operators\N{RIGHT SINGLE QUOTATION MARK} responses",
        "Crossings",
        "Walk of the day",
    ]
    coordinator_logs_the_answers(crew)
    assert crew.holding() == ["Crossings", "Walk of the day"]
    foreman_walks(crew, photo)
    assert crew.holding() == ["Crossings"]
    foreman_asks_for_a_variance(crew)
    assert crew.holding() == ["Crossings"]
    safety_manager_signs_it(crew)
    foreman_releases(crew, prefilled=False)
    follow(crew.foreman, "Crossing watch")
    crew.watch("G-1", "pilot", "30 in")
    coordinator_changes_a_mark(crew)
    phone_says_no_and_why(crew)
    foreman_releases(crew, prefilled=True)
    follow(crew.foreman, "Crossing watch")
    crew.watch("S-1", "pilot", "13 in")
    for pass_made in ("reaming", "pullback"):
        for ref, gap in (("G-1", "30 in"), ("S-1", "13 in")):
            crew.watch(ref, pass_made, gap)
    pulled_at = timezone.now()
    close_out_asks_for_the_camera(crew)
    audit_shows_the_day(crew)
    foreman_looks_into_the_sewer(crew, pulled_at)
    foreman_closes_out(crew)
    clearance_record_says_so(crew)
    ledger_is_whole(crew)


def coordinator_logs_the_answers(crew: Crew) -> None:
    """Two letters at the ticket's page, and the ticket holds nothing."""
    page, ticket = crew.coordinator, crew.bore.job.tickets.get()
    page.goto(crew.url + reverse("locates:ticket", args=[ticket.pk]))
    for _ in range(2):
        page.get_by_label("Letter of the answer").fill("m")
        with page.expect_navigation():
            page.get_by_role("button", name="Save").click()
    crew.open(page, "conflicts:bore")
    passed = page.get_by_role("region", name="What passes")
    expect(passed.get_by_role("heading", name="Tickets")).to_be_visible()
    expect(passed).to_contain_text("Every operator on the tickets in force has answered.")


def foreman_walks(crew: Crew, photo: Path) -> None:
    """Three yes, the device, a photo."""
    page = crew.foreman
    follow(page, "Walk the bore")
    for number in range(3):
        page.locator("label.yes").nth(number).tap()
    page.get_by_label("Which device").fill("receiver 7")
    page.get_by_label("Photos").set_input_files(photo)
    page.get_by_role("button", name="Sign the walk").tap()
    expect(page.locator(".messages")).to_contain_text("It counts until midnight on the job.")
    crew.open(page, "conflicts:walk")
    expect(page.get_by_role("img", name="Photo path.jpg")).to_be_visible()


def foreman_asks_for_a_variance(crew: Crew) -> None:
    """Of the crossing that is short; who asks is offered no signature."""
    page = crew.foreman
    crew.open(page, "conflicts:bore")
    follow(page, "Variances")
    follow(page, "Ask for a variance")
    choice = page.get_by_label("What is to be excused")
    [short] = [words for words in choice.locator("option").all_inner_texts() if "short" in words]
    choice.select_option(label=short)
    page.get_by_label("Reason").fill("Level shot again; the sewer is watched in its hole.")
    page.get_by_role("button", name="Ask for it").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("S-1")
    expect(page.get_by_text("not signed: it excuses nothing")).to_be_visible()
    expect(page.get_by_role("button", name="Sign the variance")).to_have_count(0)


def safety_manager_signs_it(crew: Crew) -> None:
    """Found from the page of the day, and signed with the password."""
    page = crew.safety_manager
    page.goto(crew.url + reverse("conflicts:home"))
    page.get_by_role("main").get_by_role("link", name="S-1").first.click()
    page.get_by_label("Until").fill(local(timezone.now() + timedelta(days=2), crew.zone))
    sign = page.get_by_role("region", name="Sign it")
    sign.get_by_label("Remarks").fill("No photo: the hole is filled.")
    sign.get_by_label("Your password again").fill(PASSWORD)
    page.get_by_role("button", name="Sign the variance").click()
    expect(page.locator(".messages")).to_contain_text("Signed.")


def local(moment, zone: str) -> str:
    """What a browser's picker of a day and a time is filled with."""
    return write_local(moment, zone)


def foreman_releases(crew: Crew, *, prefilled: bool) -> None:
    """Nothing holds: the foreman signs with the password, and the phone says yes."""
    page = crew.foreman
    crew.open(page, "conflicts:bore")
    expect(page.get_by_text("Do not drill: not released.")).to_be_visible()
    follow(page, "Release this bore")
    for name, words in (("Crew", "Crew 2"), ("Rig", "Rig 7")):
        box = page.get_by_label(name, exact=True)
        if prefilled:
            expect(box).to_have_value(words)
        else:
            box.fill(words)
    page.get_by_label("Your password again").fill(PASSWORD)
    page.get_by_role("button", name="Sign the release").tap()
    expect(page.get_by_text("In force, until")).to_be_visible()
    follow(page, "May I drill North run?")
    expect(page.get_by_text("Yes, Crew 2 with Rig 7, until")).to_be_visible()


def coordinator_changes_a_mark(crew: Crew) -> None:
    """A word in one field is enough."""
    page, mark = crew.coordinator, crew.bore.job.marks.get(ref="G-1")
    page.goto(crew.url + reverse("locates:mark-edit", args=[mark.pk]))
    page.get_by_label("Located by").fill("R. Pell, by tracer wire")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".messages")).to_be_visible()


def phone_says_no_and_why(crew: Crew) -> None:
    """The release has lapsed, by whom and what; the watch of before stands."""
    page = crew.foreman
    crew.open(page, "conflicts:bore")
    expect(page.get_by_text("Do not drill: not released.")).to_be_visible()
    expect(page.get_by_text("The last release, of")).to_contain_text("is lapsed: Mark G-1 was changed")
    expect(page.get_by_text("Yes, Crew 2")).to_have_count(0)
    follow(page, "The last release")
    expect(page.get_by_text("Do not drill on it: lapsed.")).to_be_visible()


def close_out_asks_for_the_camera(crew: Crew) -> None:
    """Every pass was watched, and the sewer was not looked into."""
    page = crew.foreman
    follow(page, "Close the bore out")
    expect(page.get_by_role("region", name="What is missing").get_by_role("listitem")).to_have_text(
        ["No camera inspection after the bore of the sewer: S-1."]
    )
    expect(page.get_by_role("button", name="Sign the close-out")).to_have_count(0)


def audit_shows_the_day(crew: Crew) -> None:
    """Both releases, the variance, and what was edited after the first release."""
    page = crew.safety_manager
    page.get_by_role("link", name="Audit").click()
    parts = page.get_by_role("navigation", name="Parts of the audit")
    for part in ("Releases (2)", "Drilled with no watch (0)", "Variances (1)", "Edited after release (1)"):
        expect(parts.get_by_role("link", name=part)).to_be_visible()
    rows = page.get_by_role("main").get_by_role("table").last.get_by_role("row")
    expect(rows.nth(1)).to_contain_text("In force.")
    expect(rows.nth(2)).to_contain_text("Lapsed. Mark G-1 was changed")
    parts.get_by_role("link", name="Edited after release").click()
    expect(page.get_by_role("main").get_by_role("table").last).to_contain_text("G-1")


def foreman_looks_into_the_sewer(crew: Crew, pulled_at) -> None:
    """At a time after the last pullback: it is written to the minute, so that minute has to be over."""
    page = crew.foreman
    over = pulled_at.replace(second=0, microsecond=0) + timedelta(minutes=1)
    page.wait_for_timeout(max(0, (over - timezone.now()).total_seconds() * 1000))
    follow(page, "To the crossing watch")
    follow(page, "Record a camera inspection")
    page.get_by_label("Line", exact=True).select_option(label=option(page, "Line", "S-1"))
    page.get_by_label("When", exact=True).select_option("after")
    page.get_by_label("Inspected at").fill(local(timezone.now(), crew.zone))
    page.get_by_label("Inspected by").fill("Lowmoor Pipe")
    page.get_by_label("Result").select_option("no_damage")
    page.get_by_role("button", name="Sign the inspection").tap()
    expect(page.locator(".messages")).to_contain_text("Signed: the camera inspection of S-1.")


def option(page: Page, label: str, begins: str) -> str:
    """The whole words of a choice, by how they begin."""
    words = page.get_by_label(label, exact=True).locator("option").all_inner_texts()
    return next(one for one in words if one.startswith(begins))


def foreman_closes_out(crew: Crew) -> None:
    """With the password; from then on the page says drilled, not "do not drill"."""
    page = crew.foreman
    follow(page, "Close the bore out")
    page.get_by_label("Your password again").fill(PASSWORD)
    page.get_by_role("button", name="Sign the close-out").tap()
    expect(page.locator(".messages")).to_contain_text("Closed out: North run.")
    crew.open(page, "conflicts:bore")
    expect(page.get_by_text("Drilled and closed out")).to_be_visible()
    expect(page.get_by_text("Do not drill")).to_have_count(0)


def clearance_record_says_so(crew: Crew) -> None:
    """Asked for on the phone, made by a worker meanwhile, saved, and read back."""
    page = crew.foreman
    follow(page, "Clearance record as a PDF")
    page.get_by_role("button", name="Make the record now").tap()
    expect(page.get_by_role("heading", name="A record is being made")).to_be_visible()
    make_record(RecordMaking.objects.get().pk)
    with page.expect_download() as download:
        page.get_by_role("link", name="Save the PDF").tap()
    content = download.value.path().read_bytes()
    text = "".join(page_texts(content))
    for words in ("North run", "Alder Street", "Crew 2", "Millbrook Gas", "Tarn Sewers", "Lowmoor Pipe"):
        assert squeezed(words) in text, words
    assert photo_count(content) >= 1


def ledger_is_whole(crew: Crew) -> None:
    """Proven on the safety manager's page and by the command, to the same head."""
    page = crew.safety_manager
    page.goto(crew.url + reverse("conflicts:ledger"))
    page.get_by_role("button", name="Prove it now").click()
    # Walk and its photo, variance asked and signed, two releases, six watches, camera, close-out.
    expect(page.get_by_role("status")).to_contain_text("Proven: 14 entries")
    told = io.StringIO()
    call_command("verify_ledger", stdout=told)
    assert page.locator(".head-fact code").inner_text() in told.getvalue()
