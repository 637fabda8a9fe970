"""The page that plans a profile: prefilled, checked, found or not, and nothing stored by looking."""

import json
import re
from urllib.parse import parse_qs, urlsplit

import pytest
from django.urls import reverse

from conflicts.assess import current_digest
from conflicts.desk.take_profile import plan_by_rods
from conflicts.engine.profile_limits import Range
from conflicts.find_profile import find_profile
from conflicts.models import Bore, Reassessment
from conflicts.plan_text import read_plan, written_plan
from conflicts.planned_profile import margin_of
from conflicts.profile_demands import ProfileWishes
from locates.models import RecordEvent
from locates.units import format_length
from tests import factories
from tests.conflicts.test_plan_profile_command import line_across

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job(name="Alder Street").bores.get()


@pytest.fixture
def page(client, bore):
    client.force_login(factories.person_in_role("Coordinator"))

    def get(name="profile-search", status=200, **asked):
        answer = client.get(reverse(f"conflicts:{name}", args=[bore.pk]), asked)
        assert answer.status_code == status, answer.content.decode()[-2000:]
        return answer

    return get


def asked_as_shown(page, **changes):
    """What the form sends where nothing but some fields are changed."""
    form = page().context["form"]
    shown = {field.name: field.value() for field in form if field.value() is not None}
    return {name: str(form[name].field.prepare_value(value)) for name, value in shown.items()} | changes


def test_the_form_shows_what_the_bore_and_its_rig_say(page, bore):
    form = page().context["form"]
    assert form.initial["bend_radius_m"] == bore.bend_radius_m
    assert form.initial["exits"] == "surface"
    text = page().content.decode()
    assert 'value="100 ft 0 in"' in text
    assert "stops after 10" in text


def test_a_profile_is_found_and_told_rod_by_rod(page, bore):
    found = page(**asked_as_shown(page))
    sheet = found.context["shown"].sheet
    assert sheet.is_enough
    assert "to spare" in sheet.answer
    assert len(sheet.rods) == len(found.context["found"].rods.lengths_m) + 1
    assert any("under" in row.near for row in sheet.rods)
    text = found.content.decode()
    assert "not a permission to drill" in text
    # A sheet on paper says of which records and of when it is.
    assert current_digest(bore)[:12] in text
    assert "Computed" in text


def test_the_page_tells_what_margin_is_proven_to_be_out_of_reach(page, bore):
    # Room under the line, though less than is enough.
    answer = page(**asked_as_shown(page, greatest_depth_m="7 ft"))
    found = answer.context["found"]
    least_m = min(margin_of(one) for one in found.crossings)
    assert least_m < found.no_margin_above_m < least_m + 0.1
    most = format_length(found.no_margin_above_m, bore.job.show_units, "up")
    assert f"can miss every line of known depth by {most} more than is required" in answer.content.decode()


def test_what_is_shown_back_is_the_recorded_figure_to_its_last_digit(page, bore):
    Bore.objects.filter(pk=bore.pk).update(bend_radius_m=30.4801234)
    answer = page(**asked_as_shown(page))
    assert answer.context["form"].rig().bend_radius_m == 30.4801234


def test_looking_and_searching_store_nothing(page, bore):
    before = RecordEvent.objects.count(), Reassessment.objects.count(), Bore.objects.values().get(pk=bore.pk)
    page(**asked_as_shown(page))
    assert before == (
        RecordEvent.objects.count(),
        Reassessment.objects.count(),
        Bore.objects.values().get(pk=bore.pk),
    )


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"rod_length_m": "ten"}, "rod_length_m", "ten"),
        ({"rod_length_m": "0 ft"}, "rod_length_m", "more than 0"),
        ({"rig_back_m": "400 ft"}, "rig_back_m", "at most 98 ft"),
        (
            {"entry_pitch_ratio_min": "-5 %", "entry_pitch_ratio_max": "-20 %"},
            "entry_pitch_ratio_max",
            "or more",
        ),
        ({"exits": "depth"}, "exit_depth_least_m", "how deep the bore ends"),
        ({"most_change_ratio": "-3 %"}, "most_change_ratio", "more than 0 %"),
        ({"steepest_pitch_ratio": "0 %"}, "steepest_pitch_ratio", "more than 0 %"),
        ({"bend_radius_m": ""}, "bend_radius_m", "required"),
    ],
)
def test_what_no_bore_has_is_refused_beside_its_field_and_stays_as_typed(page, changes, field, words):
    answer = page(status=400, **asked_as_shown(page, **changes))
    form = answer.context["form"]
    assert words in " ".join(form.errors[field])
    assert "found" not in answer.context
    assert f'id="id_{field}_error"' in answer.content.decode()
    for name, typed in changes.items():
        assert form[name].value() == typed


def test_what_contradicts_the_bore_is_said_above_the_form(page):
    answer = page(status=400, **asked_as_shown(page, rig_ahead_m="900 ft"))
    assert "before the exit" in answer.content.decode()


def test_a_smaller_pitch_change_a_rod_than_the_bend_gives_is_kept(page):
    answer = page(**asked_as_shown(page, most_change_ratio="6 %"))
    turns = answer.context["found"].rods.turns_rad
    assert abs(turns).max() <= 0.06 + 1e-6


def test_the_end_of_another_bore_can_be_met_at_a_depth(page):
    asked = asked_as_shown(page, exits="depth", exit_depth_least_m="4 ft", exit_depth_greatest_m="5 ft")
    rods = page(**asked | {"exit_pitch_ratio_min": "-5 %"}).context["shown"].sheet.rods
    assert rods[-1].depth.startswith(("4 ft", "5 ft"))


def test_a_line_of_unknown_depth_names_what_it_blocks_and_where_to_dig(page, bore):
    line_across(bore, 70.0, ref="W-9")
    answer = page(**asked_as_shown(page))
    text = answer.content.decode()
    assert answer.context["found"].rods is None
    assert "W-9 is unknown, which blocks every depth" in text
    assert "Expose" in text
    assert "Dig a test hole at" in text
    assert f"{reverse('locates:test-hole-add', args=[bore.job_id])}?mark=W-9" in text


def test_a_line_left_unexposed_on_somebodys_word_is_never_called_missed(page, bore):
    line_across(bore, 50.0, ref="W-9")
    sheet = page(**asked_as_shown(page, unexposed_down_to_m="1.5 m")).context["shown"].sheet
    assert not sheet.is_enough
    assert sheet.answer.startswith("Of unknown depth:")
    assert sheet.lines[0].margin == "unknown"


def test_room_to_a_line_whose_mark_is_gone_is_not_called_clear(page, bore):
    bore.job.marks.update(is_intact=False)
    sheet = page(**asked_as_shown(page)).context["shown"].sheet
    assert not sheet.is_enough
    assert "Not clear all the same:" in sheet.answer


def test_a_search_whose_time_is_over_says_so(page, monkeypatch):
    monkeypatch.setattr("conflicts.views.profile_plan.MOST_S", -1.0)
    answer = page(status=400, **asked_as_shown(page))
    assert "stopped after" in answer.content.decode()


def test_a_bore_whose_rig_is_not_recorded_is_planned_with_what_is_typed_and_the_record_still_refuses(
    page, bore
):
    Bore.objects.filter(pk=bore.pk).update(bend_radius_m=None)
    page(status=400, **asked_as_shown(page, bend_radius_m=""))
    sheet = page(**asked_as_shown(page, bend_radius_m="100 ft")).context["shown"].sheet
    assert not sheet.is_enough
    assert "Not recorded for the rig: bend radius" in " ".join(sheet.faults)


class TestByHand:
    """Pitches changed by hand, and two profiles beside each other."""

    @pytest.fixture
    def plan(self, page):
        return page(**asked_as_shown(page)).context["shown"].text

    def test_the_page_and_the_address_for_programs_give_the_same_figures(self, page, plan):
        shown = page("profile-by-hand", plan=plan, edits="5~-500000").context["shown"].sheet
        figures = json.loads(page("profile-figures", plan=plan, edits="5~-500000").content)
        assert [row["depth"] for row in figures["rods"]] == [row.depth for row in shown.rods]
        assert figures["brief"] == shown.brief
        assert shown.lines[0].margin in figures["parts"]["lines"]

    def test_one_more_change_is_added_and_undone(self, page, plan):
        first = json.loads(page("profile-figures", plan=plan, rod="5", percent="-5.0").content)
        assert first["edits"] == "5~-500000"
        second = json.loads(
            page("profile-figures", plan=plan, edits=first["edits"], rod="6", percent="-4").content
        )
        assert second["changes"] == 2
        undo = parse_qs(urlsplit(second["links"]["undo"]).query)
        assert undo["edits"] == [first["edits"]]
        assert undo["plan"] == [plan]

    def test_a_rod_that_is_not_driven_to_its_end_says_how_long_it_is(self, page, plan):
        figures = json.loads(page("profile-figures", plan=plan).content)
        assert [row["length"] for row in figures["rods"][:-1]] == [""] * (len(figures["rods"]) - 1)
        last = figures["rods"][-1]["length"]
        assert last
        assert f"{last} long" in page(**asked_as_shown(page)).content.decode()

    def test_without_script_the_button_leads_to_the_address_of_what_was_made(self, page, client, plan, bore):
        sent = {"plan": plan, "edits": "", "pitch-5": "-5.0"}
        address = reverse("conflicts:profile-by-hand", args=[bore.pk])
        answer = client.post(address, sent)
        assert answer.status_code == 302
        assert parse_qs(urlsplit(answer.url).query)["edits"] == ["5~-500000"]
        assert client.get(answer.url).context["shown"].sheet.rods[5].percent == "-5.0"

    def test_a_pitch_that_is_none_is_refused_beside_its_box_and_stays(self, client, plan, bore):
        address = reverse("conflicts:profile-by-hand", args=[bore.pk])
        answer = client.post(address, {"plan": plan, "edits": "", "pitch-5": "steep", "pitch-6": "-3"})
        text = answer.content.decode()
        assert answer.status_code == 400
        assert 'id="pitch-5-error"' in text
        assert 'value="steep"' in text
        assert re.search(r'name="pitch-6"[^>]*value="-3"', text)

    @pytest.mark.parametrize(
        "asked",
        [
            {"plan": "nonsense"},
            {"edits": "900~1"},
            {"rod": "5", "percent": "steep"},
            {"rod": "x", "percent": "1"},
        ],
    )
    def test_an_address_that_holds_no_profile_says_what_is_accepted(self, page, plan, asked):
        answer = page("profile-figures", status=400, **{"plan": plan} | asked)
        assert "accepted is" in json.loads(answer.content)["error"]

    @pytest.mark.parametrize("name", ["profile-by-hand", "profile-compare"])
    def test_with_no_profile_named_the_bores_own_rods_are_taken_or_asked_for(self, page, bore, plan, name):
        assert "it has no rods" in page(name).content.decode()
        plan_by_rods(bore, read_plan(plan))
        bore.save()
        assert page(name).context["plan"].text == plan

    def test_a_steep_change_breaks_the_bend_and_is_told(self, page, plan):
        sheet = page("profile-by-hand", plan=plan, edits="10~2500000").context["shown"].sheet
        assert not sheet.is_enough
        assert "leaves room for a radius" in " ".join(sheet.faults)
        assert sheet.answer.startswith("It breaks a limit.")

    def test_two_profiles_stand_beside_each_other(self, page, plan):
        planned = page("profile-compare", plan=plan).context
        assert planned["sides"][1][0] == "The bore's plan now"
        start = page("profile-compare", plan=plan, edits="10~100000", beside="start").context
        [line, one, other] = start["margins"][0]
        assert line is one
        assert one.margin_m != other.margin_m
        kept = page("profile-compare", plan=plan, beside="kept", kept=plan).context
        assert kept["facts"][0][1] == kept["facts"][0][2]
        page("profile-compare", status=400, plan=plan, beside="kept", kept="nonsense")

    def test_a_line_that_is_met_twice_stands_twice_with_the_margins_of_each_place(self, page, bore, plan):
        bent = factories.line((30, -15), (30, 15), (70, 15), (70, -15))
        mark = factories.MarkFactory(job=bore.job, operator=bore.job.operators.get(), geometry=bent)
        for east_m, top_m in ((30, 1.0), (70, 0.4)):
            factories.TestHoleFactory(
                job=bore.job, mark=mark, position=factories.point(east_m, 0), depth_to_top_m=top_m
            )
        shown = page("profile-compare", plan=plan).context
        met = [row for row in shown["margins"] if row[0].mark_id == str(mark.pk)]
        assert len(met) == 2
        assert all(one.station == other.station for _, one, other in met)
        for side, rows in zip((1, 2), shown["sides"], strict=True):
            assert min(row[side].margin_m for row in shown["margins"]) == rows[2].sheet.lines[0].margin_m

    def test_picture_and_table_of_a_rig_put_back_count_stations_from_the_recorded_entry(self, page, bore):
        back = find_profile(bore.pk, ProfileWishes(rig_station_m=Range(-12.0, -12.0)))
        found = page("profile-by-hand", plan=written_plan(back.rods))
        shown = found.context["shown"]
        entry, exit_ = shown.sheet.rods[0].station, shown.sheet.rods[-1].station
        assert f"Entry {entry}" in shown.svg
        assert f"Exit {exit_}" in shown.svg
        assert shown.sheet.lines[0].station in shown.svg
        assert "stations are counted from its own entry" in found.content.decode()
