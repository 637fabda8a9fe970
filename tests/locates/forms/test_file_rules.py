"""The job file's words in a form: lengths in the job's units, and no question for a unit that was written."""

import pytest

from locates.errors import JobFileError
from locates.forms.file_rules import for_people


@pytest.mark.parametrize(
    ("found", "accepted", "units", "words"),
    [
        (
            "18.5, a sewer at a depth of 18.5 m: feet or inches? 18.5 in = 0.470 m, 18.5 ft = 5.639 m",
            "a number of metres, here at most 15",
            "metric",
            "Found a sewer at a depth of 18.500 m; accepted: 15.000 m at most.",
        ),
        (
            "12192, where there is no ground: feet? 12192 ft = 3716.122 m",
            "a number of metres from -1000 to 9000",
            "metric",
            "Found 12192.000 m, where there is no ground; accepted: a length"
            " from \N{MINUS SIGN}1000.000 m to 9000.000 m.",
        ),
        ("nothing", "a number of metres, as needed", "feet", "Found nothing; accepted: a length, as needed."),
        (
            "a first station of 3.048 m",
            "0, the entry point",
            "feet",
            "Found a first station of 10 ft 0 in; accepted: 0, the entry point.",
        ),
        ("a mark of none", "one in the same file", "feet", "Found a mark of none; accepted: one of the job."),
    ],
)
def test_a_fault_is_told_as_a_form_tells_it(found, accepted, units, words):
    assert for_people(JobFileError(found=found, accepted=accepted), units) == words
