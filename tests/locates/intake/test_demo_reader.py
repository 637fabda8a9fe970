"""The demo's reader reads its own sample whole."""

from conflicts.demo.reader import PATTERNS, SAMPLE
from locates.intake.ticket_text import field_texts, read_text


def test_the_reader_of_the_demo_finds_everything_in_its_sample():
    findings = read_text(PATTERNS, SAMPLE, "America/New_York")
    assert not any(one.fault for one in findings)
    assert field_texts(findings) == {
        "number": "26-118204",
        "called_by": "D. Orrin",
        "called_at": "2026-09-22 02:10 PM",
        "wanted_start_at": "2026-09-28 07:00 AM",
        "stated_depth_m": "9 ft",
        "stated_method": "directional bore",
        "operators": ["Tallow Creek Gas", "Tamber Ridge Electric"],
        "area": (
            "38.030125, -78.480310\n38.030125, -78.479100\n38.029950, -78.479100\n38.029950, -78.480310"
        ),
        "ticket_kind": "routine",
        "boring_declared": "yes",
        "white_lined": "yes",
    }
