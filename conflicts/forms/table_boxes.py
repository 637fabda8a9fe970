"""The boxes of a small table as one text of a form: a line each, its parts between tabs."""

import re
from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms

LEAST_LINES = 5
SPARE_LINES = 3
MOST_LINES = 500

BETWEEN = "\t"


class TableBoxes(forms.Widget):
    """Boxes ``name-0-part``, ``name-1-part`` and so on, which become one text."""

    use_fieldset = True
    parts: ClassVar[tuple[str, ...]]
    """Names of the columns' boxes, in their order."""

    def value_from_datadict(self, data: Mapping[str, Any], files: Any, name: str) -> str:
        """The lines that hold something; a text under the plain name takes the place of the boxes."""
        if name in data:
            return str(data[name])
        box = re.compile(rf"{re.escape(name)}-(\d{{1,4}})-(?:{'|'.join(self.parts)})", re.ASCII)
        numbers = sorted({int(match[1]) for match in map(box.fullmatch, data) if match})[:MOST_LINES]
        lines = [
            BETWEEN.join(str(data.get(f"{name}-{number}-{part}", "")).strip() for part in self.parts)
            for number in numbers
        ]
        return "\n".join(line for line in lines if line.strip())

    def value_omitted_from_data(self, data: Mapping[str, Any], files: Any, name: str) -> bool:
        """A table without a line is empty, not missing."""
        return False


def with_spare(lines: list[str]) -> list[str]:
    """Lines with some empty ones behind them, to write in."""
    return [*lines, *[""] * max(SPARE_LINES, LEAST_LINES - len(lines))]
