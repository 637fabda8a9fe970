"""What a person looks for on the board, and in which order."""

from datetime import datetime, timedelta
from urllib.parse import urlencode
from uuid import UUID

from django import forms
from django.db.models import Subquery

from locates.models import JurisdictionRule, TicketKind, TicketMatterKind, TicketState
from locates.models.board_queries import BoardFilters
from locates.models.saved_view import BoardList

LONGEST_DAYS = 3650
DAYS_ACCEPTED = f"Accepted is a whole number of days, 0 to {LONGEST_DAYS}."


def _any(words: str, choices: list[tuple[str, str]]) -> list[tuple[str, str]]:
    return [("", words), *choices]


class BoardForm(forms.Form):
    """Filters and order of one of the board's lists, as the address holds them."""

    q = forms.CharField(
        label="Number, street or operator",
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    matter = forms.ChoiceField(
        label="To do", required=False, choices=_any("everything", TicketMatterKind.choices)
    )
    state = forms.ChoiceField(label="State", required=False, choices=_any("every state", TicketState.choices))
    kind = forms.ChoiceField(label="Kind", required=False, choices=_any("every kind", TicketKind.choices))
    job = forms.CharField(label="Job", required=False, max_length=100)
    operator = forms.CharField(label="Operator", required=False, max_length=100)
    jurisdiction = forms.ChoiceField(label="Jurisdiction", required=False)
    days = forms.IntegerField(
        label="Due within days",
        required=False,
        min_value=0,
        max_value=LONGEST_DAYS,
        # A number field of the browser forgets what is no number.
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), DAYS_ACCEPTED),
    )
    order = forms.ChoiceField(label="Order", required=False)

    def __init__(
        self, data: object, board_list: BoardList, orders: list[tuple[str, str]], company: UUID | Subquery
    ) -> None:
        super().__init__(data)
        # A retired version too: jobs may still stand under it.
        known = JurisdictionRule.objects.known_to(company).order_by("code")
        codes = known.values_list("code", flat=True).distinct()
        self.fields["jurisdiction"].choices = _any("everywhere", [(code, code) for code in codes])
        self.fields["order"].choices = orders
        if board_list == BoardList.TICKETS:
            self.fields["days"].label = "Expires within days"
            self.fields["days"].help_text = "Or has expired."
        else:
            self.fields["days"].help_text = "What is overdue is always in."

    def filters(self, at: datetime, viewer_id: int | None) -> BoardFilters:
        """What is looked for; a form with errors looks for nothing else than what could be read of it."""
        read = self.cleaned_data
        days = read.get("days")
        return BoardFilters(
            viewer_id=viewer_id,
            matter=read.get("matter", ""),
            state=read.get("state", ""),
            kind=read.get("kind", ""),
            job=read.get("job", ""),
            operator=read.get("operator", ""),
            jurisdiction=read.get("jurisdiction", ""),
            until=None if days is None else at + timedelta(days=days),
            text=read.get("q", ""),
        )

    def order_name(self) -> str:
        """The chosen order, else the first."""
        chosen: str = self.cleaned_data.get("order") or self.fields["order"].choices[0][0]
        return chosen

    @property
    def is_narrowed(self) -> bool:
        """Whether anything is looked for or ordered otherwise than at first."""
        return bool(self.query())

    def query(self) -> str:
        """The choices as an address has them; what is as at first is left out."""
        first_order = self.fields["order"].choices[0][0]
        kept = {
            name: value
            for name, value in self.cleaned_data.items()
            if value not in ("", None) and not (name == "order" and value == first_order)
        }
        return urlencode(kept)


class KeepViewForm(forms.Form):
    """The name under which somebody keeps what the board shows."""

    name = forms.CharField(label="Name of the view", max_length=60)
    query = forms.CharField(required=False, max_length=1000, widget=forms.HiddenInput)
