"""The pitches of a profile as boxes, one a joint."""

from collections.abc import Mapping

from conflicts.plan_sheet import PlanSheet, RodRow
from conflicts.plan_text import PitchEdit, PlanTextError, written_edits
from conflicts.plan_view import HandPlan, pitch_ratio


class PitchesByHand:
    """What was typed into the boxes; a box that holds what it showed is no change.

    ``errors`` has words by the number of the joint.
    """

    def __init__(self, sent: Mapping[str, str] | None, plan: HandPlan, sheet: PlanSheet) -> None:
        self.plan = plan
        self.errors: dict[int, str] = {}
        self._typed: dict[int, str] = {}
        self._edits: list[PitchEdit] = list(plan.edits)
        for row in sheet.rods if sent is not None else ():
            self._read(row, sent.get(f"pitch-{row.number}", row.percent))
        self.rows = [
            (row, self._typed.get(row.number, row.percent), self.errors.get(row.number, ""))
            for row in sheet.rods
        ]

    def edits_text(self) -> str:
        """All changes, those of before and these."""
        return written_edits(self._edits)

    def _read(self, row: RodRow, typed: str) -> None:
        if typed.strip() == row.percent:
            return
        self._typed[row.number] = typed
        try:
            self._edits.append(PitchEdit(row.number, pitch_ratio(typed)))
        except PlanTextError as error:
            self.errors[row.number] = f"Found '{error.found}'; accepted is {error.accepted}."
