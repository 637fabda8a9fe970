"""Canonical JSON against the vectors that RFC 8785 publishes, and against ECMAScript itself.

RFC 8785 (June 2020), written down from memory: the example of section 3.2.2 with its bytes in 3.2.4, the
order of names of 3.2.3, the table of numbers of appendix B. ECMAScript: Node's JSON.stringify, whose writing
of numbers and texts the RFC takes over (section 3.2.2); it is asked for the table too.
"""

import json
import struct
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from locates.canonical import canonical_text

EXAMPLE = r"""
{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}
"""
ITS_BYTES = """
7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22 6e
75 6d 62 65 72 73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30
2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24
5c 75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d
"""

NAMES = r"""
{
  "\u20ac": "Euro Sign",
  "\r": "Carriage Return",
  "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "1": "One",
  "\ud83d\ude00": "Emoji: Grinning Face",
  "\u0080": "Control",
  "\u00f6": "Latin Small Letter O With Diaeresis"
}
"""
IN_ORDER = [
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
]

NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]

STRINGIFY = """
const values = JSON.parse(require("fs").readFileSync(0, "utf8"));
process.stdout.write(JSON.stringify(values.map((value) => JSON.stringify(value))));
"""


def test_the_example_comes_out_in_its_published_bytes():
    assert canonical_text(json.loads(EXAMPLE)).encode() == bytes.fromhex(ITS_BYTES)


def test_names_are_put_in_the_published_order():
    assert list(json.loads(canonical_text(json.loads(NAMES))).values()) == IN_ORDER


@pytest.mark.parametrize(("bits", "text"), NUMBERS)
def test_numbers_are_written_as_published(bits, text):
    [number] = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_text(number) == text


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_what_is_no_number_is_refused(bits):
    [number] = struct.unpack(">d", bytes.fromhex(bits))
    with pytest.raises(ValueError, match="not representable"):
        canonical_text({"figure": number})


@pytest.mark.parametrize("value", [2**53, -(2**53), {1: "a"}, {"when": object()}, "\ud800"])
def test_what_cannot_be_written_one_way_is_refused(value):
    with pytest.raises(ValueError):  # noqa: PT011 - each says something else
        canonical_text(value)


def as_ecmascript_writes(values):
    told = subprocess.run(
        ["node", "-e", STRINGIFY],
        input=json.dumps(values),
        capture_output=True,
        encoding="utf-8",
        check=True,
        timeout=60,
    )
    return json.loads(told.stdout)


def test_the_table_of_numbers_is_that_of_ecmascript():
    numbers = [struct.unpack(">d", bytes.fromhex(bits))[0] for bits, _ in NUMBERS]
    assert as_ecmascript_writes(numbers) == [text for _, text in NUMBERS]


@settings(max_examples=20, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.floats(allow_nan=False, allow_infinity=False),
            st.integers(-(2**53) + 1, 2**53 - 1),
            st.text(st.characters(exclude_categories=["Cs"])),
        ),
        min_size=50,
        max_size=400,
    )
)
def test_numbers_and_texts_are_written_as_ecmascript_writes_them(values):
    assert [canonical_text(value) for value in values] == as_ecmascript_writes(values)
