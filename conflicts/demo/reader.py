"""An invented confirmation and the patterns that read it, for the company of the demo."""

from locates.models import Organisation, TextReader

SAMPLE = """\
NOTICE OF INTENDED EXCAVATION
Notice 26-118204      Kind: ROUTINE
Received Tue 09/22/2026 02:10 PM by D. Orrin
Work begins 09/28/2026 07:00 AM
Trenchless: YES   Depth: 9 ft   White lined: YES
Method: directional bore
Told: Tallow Creek Gas
Told: Tamber Ridge Electric
Corner 38.030125, -78.480310
Corner 38.030125, -78.479100
Corner 38.029950, -78.479100
Corner 38.029950, -78.480310
"""
_DAY = r"(?P<month>\d+)/(?P<day>\d+)/(?P<year>\d{4}) (?P<hour>\d+):(?P<minute>\d+) (?P<half>[AP]M)"
PATTERNS = {
    "number": r"^Notice (\d\d-\d+)",
    "kind_routine": "Kind: ROUTINE",
    "kind_emergency": "Kind: EMERGENCY",
    "called_at": rf"^Received \w+ {_DAY}",
    "called_by": r"^Received .* by (.+)$",
    "wanted_start_at": rf"^Work begins {_DAY}",
    "stated_depth_m": r"Depth: (\d+ ft)",
    "stated_method": r"^Method: (.+)$",
    "operator": r"^Told: (.+)$",
    "corner": r"^Corner (?P<latitude>-?\d+\.\d+), (?P<longitude>-?\d+\.\d+)",
    "boring_declared": "Trenchless: YES",
    "boring_not_declared": "Trenchless: NO",
    "white_lined": "White lined: YES",
    "not_white_lined": "White lined: NO",
}


def keep_demo_reader(organisation: Organisation) -> TextReader:
    """The reader, kept for the company."""
    reader = TextReader(organisation=organisation, name="Notice by mail", patterns=PATTERNS, sample=SAMPLE)
    reader.full_clean()
    reader.save()
    return reader
