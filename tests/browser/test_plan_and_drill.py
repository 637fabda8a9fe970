"""A bore from the search of its profile to its close-out: a wrong rod is called out and pulled back.

A coordinator plans it at a desk and prints the operator's table; a foreman drills by that paper, with a
phone.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Browser, Locator, Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, DrilledRod, RodWithdrawal
from conflicts.stop_rules import RULE_OF, StopCode
from locates.angles import parse_pitch_ratio
from locates.units import parse_length_m
from tests.factories import PASSWORD, MarkFactory, TestHoleFactory, line, point
from tests.pdf_reading import page_texts, squeezed
from tests.screens import DESK, PHONE, compute_what_waits, pages_by_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

INCH_M = 0.0254
# The rod that goes wrong: the last of the twelve, steered down where the paper has it level. Its depth goes
# with its pitch, and the rig bends so much: only what lies ahead is wrong with it.
WRONG_ROD, WRONG_BY_IN, WRONG_BY_PERCENT = 12, 12, -10.0
# Which rods pass a line, by the paper.
PASSED_BY = {9: "G-1", 13: "T-2"}


@dataclass(frozen=True)
class PaperRod:
    """A rod as the operator reads it on paper; ``length`` only where it is not driven to its end."""

    number: int
    station: str
    depth_in: int
    pitch_percent: float
    length: str


@pytest.fixture
def bore() -> Bore:
    """A walked bore of seventeen rods, under a gas line and then over a deeper duct."""
    bore = bore_of_today()
    job, ticket = bore.job, bore.job.tickets.get()
    job.marks.update(ref="G-1")
    duct = MarkFactory(
        job=job,
        operator=job.operators.get(),
        ref="T-2",
        facility_type="communication",
        geometry=line((77, -15), (77, 15)),
        ticket=ticket,
    )
    TestHoleFactory(job=job, mark=duct, ticket=ticket, position=point(77, 0), depth_to_top_m=1.95)
    bore.name, bore.rod_length_m = "North run", 6.096
    # Nothing is reamed, so each line is passed twice: by the head and by the conduit.
    bore.pilot_diameter_m = bore.final_diameter_m = 0.12
    bore.save()
    store_assessment(bore.pk)
    return bore


@pytest.fixture
def screen(browser: Browser, live_server) -> Iterator[Callable[..., Page]]:
    """Open a page of a person's own; a client each, for one client's login ends that of the person before."""
    with ExitStack() as stack:

        def opened(role: str, address: str, **options) -> Page:
            own = stack.enter_context(pages_by_role(browser, live_server.url, Client()))
            return own(role, address, **options)

        yield opened


def test_a_profile_is_planned_printed_and_drilled_with_one_wrong_rod_pulled_back(screen, bore):
    bore_page = reverse("conflicts:bore", args=[bore.pk])
    desk = screen("Coordinator", bore_page, viewport=DESK)
    coordinator_finds_a_profile(desk)
    paper = read_paper(desk)
    coordinator_prints_it(desk, paper)
    coordinator_takes_it(desk, bore)
    phone = screen("Foreman", bore_page, viewport=PHONE, has_touch=True)
    foreman_releases(phone)
    go(phone, phone.get_by_role("link", name="Rods drilled").first, "Rods of North run")
    for rod in paper[: WRONG_ROD - 1]:
        foreman_logs(phone, rod)
        expect(phone.get_by_role("alert")).to_have_count(0)
    foreman_logs(phone, gone_wrong(paper[WRONG_ROD - 1]))
    the_log_warns_at_once(phone)
    assert DrilledRod.objects.count() == WRONG_ROD
    look_ahead_stops_the_crew(phone)
    foreman_pulls_back(phone)
    for rod in paper[WRONG_ROD - 1 :]:
        foreman_logs(phone, rod)
        expect(phone.get_by_role("alert")).to_have_count(0)
    look_ahead_says_the_exit(phone)
    the_log_keeps_the_leg(phone, bore, paper)
    conduit_is_pulled_and_watched(phone)
    foreman_closes_out(phone)


def go(page: Page, control: Locator, heading: str) -> None:
    """Touch what leads to the next page, once this one has all that it shows, and see that it is the next."""
    page.wait_for_load_state("load")
    control.tap() if page.evaluate("navigator.maxTouchPoints") else control.click()
    expect(page.get_by_role("heading", name=heading, exact=True).first).to_be_visible()


def coordinator_finds_a_profile(page: Page) -> None:
    """Over the duct, for the bore is to stay above 8 ft."""
    go(page, page.get_by_role("link", name="Plan the profile"), "Plan the profile of North run")
    page.locator("summary").filter(has_text="More demands").click()
    page.get_by_label("Greatest depth (").fill("8 ft")
    go(page, page.get_by_role("button", name="Look for the profile"), "A profile was found")
    expect(page.locator(".verdict-line.is-free")).to_contain_text("to spare")
    rows = page.locator(".plan-lines tbody tr")
    expect(rows.filter(has_text="G-1").first).to_contain_text("under")
    expect(rows.filter(has_text="T-2").first).to_contain_text("over")


def read_paper(page: Page) -> list[PaperRod]:
    """The operator's table, as it is read at the rig: depths to the inch, pitches in percent."""
    rods = []
    for row in page.locator(".plan-rods tbody tr").all()[1:]:
        number, station, depth, pitch, _, _ = row.locator("th, td").all_inner_texts()
        first, *rest = number.split("\n")
        rods.append(
            PaperRod(
                int(first),
                station.strip(),
                round(parse_length_m(depth) / INCH_M),
                round(100.0 * parse_pitch_ratio(pitch), 1),
                " ".join(rest).removesuffix(" long").strip(),
            )
        )
    assert [rod.number for rod in rods] == list(range(1, 18))
    return rods


def coordinator_prints_it(page: Page, paper: Sequence[PaperRod]) -> None:
    """Table, drawing and title block go onto paper; links, forms and buttons do not."""
    page.emulate_media(media="print")
    table = page.locator(".plan-rods")
    expect(table).to_be_visible()
    expect(page.get_by_role("button")).to_have_count(0)
    expect(page.get_by_role("textbox")).to_have_count(0)
    expect(page.locator("main :is(a.more, .button)").filter(visible=True)).to_have_count(0)
    head, *rows = table.locator("tr").all_inner_texts()
    pages = page_texts(page.pdf(prefer_css_page_size=True))
    # On sheets of its own, each with the names of the columns.
    sheets = [text for text in pages if squeezed(head) in text]
    assert sheets[0].startswith(squeezed("Rod by rod, for the operator"))
    for row in rows:
        assert sum(squeezed(row) in sheet for sheet in sheets) == 1, row
    # The last rod is not driven to its end, and the paper says so.
    assert paper[-1].length
    assert not any(rod.length for rod in paper[:-1])
    everything = "".join(pages)
    for words in ("Profile for the operator", "North run", "not a permission to drill"):
        assert squeezed(words) in everything, words
    page.emulate_media(media="screen")


def coordinator_takes_it(page: Page, bore: Bore) -> None:
    """It is the bore's plan, and a worker computes its clearances."""
    button = page.get_by_role("button", name="Take this profile as the plan of the bore")
    go(page, button, "North run")
    expect(page.locator(".messages")).to_contain_text("The profile is the plan of North run now.")
    compute_what_waits()
    bore.refresh_from_db()
    assert len(bore.rod_lengths_m) == 18


def foreman_releases(page: Page) -> None:
    """Nothing holds by the new plan."""
    page.reload()
    go(page, page.get_by_role("link", name="Release this bore"), "Release North run")
    page.get_by_label("Crew", exact=True).fill("Crew 2")
    page.get_by_label("Rig", exact=True).fill("Rig 7")
    page.get_by_label("Your password again").fill(PASSWORD)
    page.get_by_role("button", name="Sign the release").tap()
    expect(page.get_by_text("In force, until")).to_be_visible()
    go(page, page.get_by_role("link", name="May I drill North run?"), "North run")
    expect(page.get_by_text("Yes, Crew 2 with Rig 7, until")).to_be_visible()


def foreman_logs(page: Page, rod: PaperRod) -> None:
    """Two numbers, which way the head points, and its dot; watched where the head passes a line."""
    page.wait_for_load_state("load")
    page.get_by_text("Dot over the head").tap()
    page.get_by_label("Dot at station").fill(rod.station)
    page.get_by_label("On the line").tap()
    if rod.length:
        page.get_by_text("Roll, length, heading, remarks").tap()
        page.get_by_label("Length of this rod").fill(rod.length)
    page.get_by_label("Depth read").fill(str(rod.depth_in))
    page.get_by_label("Pitch, %").fill(f"{abs(rod.pitch_percent):.1f}")
    page.get_by_label("Up" if rod.pitch_percent > 0.0 else "Down", exact=True).tap()
    go(page, page.get_by_role("button", name=f"Log rod {rod.number}"), f"Head, after rod {rod.number}")
    expect(page.locator(".messages")).to_contain_text(f"Logged: rod {rod.number}.")
    if rod.number in PASSED_BY:
        go(page, page.get_by_role("link", name="North run").first, "North run")
        go(page, page.get_by_role("link", name="Crossing watch"), "Crossing watch of North run")
        foreman_watches(page, PASSED_BY[rod.number], "pilot")
        go(page, page.get_by_role("link", name="North run").first, "North run")
        go(page, page.get_by_role("link", name="Rods drilled").first, "Rods of North run")


def foreman_watches(page: Page, ref: str, pass_made: str) -> None:
    """Seen in its hole, with room."""
    link = page.get_by_role("link", name=f"Watch the {pass_made} pass {ref}")
    go(page, link, f"{ref}: the {pass_made}")
    page.locator("label.yes").tap()
    page.get_by_label("Gap measured").fill("20 in")
    go(page, page.get_by_role("button", name="Sign the watch"), "Crossing watch of North run")
    expect(page.locator(".messages")).to_contain_text(f"Signed: {ref}, {pass_made}.")


def gone_wrong(rod: PaperRod) -> PaperRod:
    """The same rod, steered the wrong way."""
    depth_in, pitch_percent = rod.depth_in + WRONG_BY_IN, rod.pitch_percent + WRONG_BY_PERCENT
    return replace(rod, depth_in=depth_in, pitch_percent=pitch_percent)


def large(page: Page, key: str) -> Locator:
    return page.locator(f'[data-told="{key}.large"]')


def the_log_warns_at_once(page: Page) -> None:
    """On the page on which the rod was logged, in its first view: nobody has to look elsewhere."""
    stop = page.get_by_role("alert")
    expect(stop).to_have_count(1)
    expect(stop).to_contain_text(RULE_OF[StopCode.NO_CLEAR_DEPTH].when)
    expect(stop).to_contain_text("Pull back 1 rod")
    expect(stop.get_by_role("heading")).to_be_in_viewport(ratio=1)


def look_ahead_stops_the_crew(page: Page) -> None:
    """At the very rod: how far off, at which line it ends, and how far to pull back, in the first view."""
    page.wait_for_load_state("load")
    page.get_by_role("link", name="Ahead of the head: steer, and until when").tap()
    expect(large(page, "answer")).to_have_text("Stop. Do not drill on")
    expect(large(page, "answer")).to_be_in_viewport()
    expect(large(page, "head")).to_contain_text("too deep")
    expect(large(page, "coming")).to_contain_text("T-2")
    rule = RULE_OF[StopCode.NO_CLEAR_DEPTH]
    stop = page.locator("[data-stops]").filter(has_text=rule.when)
    expect(stop).to_contain_text(rule.then)
    expect(stop).to_contain_text("Pull back 1 rod: from there it can still be passed over.")


def foreman_pulls_back(page: Page) -> None:
    """To where the sheet says, with the reason; then the same rod again."""
    go(page, page.get_by_role("link", name="Log the next rod"), "Rods of North run")
    go(page, page.get_by_role("link", name="Pull back"), "Pull back")
    page.get_by_label("Back to the end of").select_option(label=f"rod {WRONG_ROD - 1}")
    page.get_by_label("Reason").fill("Steered down instead of up.")
    go(page, page.get_by_role("button", name="Pulled back"), f"Head, after rod {WRONG_ROD - 1}")
    expect(page.locator(".messages")).to_contain_text(f"The next is rod {WRONG_ROD} again.")


def look_ahead_says_the_exit(page: Page) -> None:
    page.wait_for_load_state("load")
    page.get_by_role("link", name="Ahead of the head: steer, and until when").tap()
    expect(large(page, "answer")).to_have_text("At the exit")
    expect(page.locator("[data-stops] > *")).to_have_count(0)
    go(page, page.get_by_role("link", name="Log the next rod"), "Rods of North run")


def the_log_keeps_the_leg(page: Page, bore: Bore, paper: Sequence[PaperRod]) -> None:
    expect(page.locator(".leg")).to_contain_text(f"abandoned: rods {WRONG_ROD} to {WRONG_ROD}")
    expect(page.locator("svg.profile .abandoned")).to_have_count(1)
    expect(page.get_by_role("region", name="Log", exact=True)).to_contain_text(
        f"{len(paper)} rods in the ground"
    )
    assert DrilledRod.objects.filter(bore=bore).count() == len(paper) + 1
    assert RodWithdrawal.objects.get().rod.number == WRONG_ROD


def conduit_is_pulled_and_watched(page: Page) -> None:
    go(page, page.get_by_role("link", name="North run").first, "North run")
    go(page, page.get_by_role("link", name="Crossing watch"), "Crossing watch of North run")
    for ref in PASSED_BY.values():
        foreman_watches(page, ref, "pullback")


def foreman_closes_out(page: Page) -> None:
    """From then on the bore is drilled, and nothing says that it may not be."""
    page.get_by_role("link", name="Close the bore out").tap()
    page.get_by_label("Your password again").fill(PASSWORD)
    page.get_by_role("button", name="Sign the close-out").tap()
    expect(page.locator(".messages")).to_contain_text("Closed out: North run.")
    expect(page.get_by_text("Drilled and closed out")).to_be_visible()
    expect(page.get_by_text("Do not drill")).to_have_count(0)
