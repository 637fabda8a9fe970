"""What a pattern can find in the text of a confirmation."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "moment", "sign", "each", "corner"]


@dataclass(frozen=True)
class TextField:
    """One thing that a pattern finds.

    Attributes
    ----------
    name : str
    words : str
        What a person reads.
    kind : str
        ``text`` is taken as it stands, ``moment`` is a day and a time, ``sign`` counts by being there,
        ``each`` and ``corner`` are taken wherever they stand.
    fills : str
        Field of the ticket's form.
    value : str
        What a sign puts there; empty for the others.
    """

    name: str
    words: str
    kind: Kind
    fills: str
    value: str = ""


TEXT_FIELDS = (
    TextField("number", "Number", "text", "number"),
    TextField("previous_number", "Number of the ticket before", "text", "previous_number"),
    TextField("called_by", "Called by", "text", "called_by"),
    TextField("called_at", "Called in", "moment", "called_at"),
    TextField("wanted_start_at", "Start that was asked for", "moment", "wanted_start_at"),
    TextField("legal_start_at", "Legal start", "moment", "legal_start_at"),
    TextField("latest_start_at", "Latest start", "moment", "latest_start_at"),
    TextField("response_due_at", "Answers due", "moment", "response_due_at"),
    TextField("renew_by", "Renew by", "moment", "renew_by"),
    TextField("expires_at", "Expires", "moment", "expires_at"),
    TextField("stated_depth_m", "Depth", "text", "stated_depth_m"),
    TextField("stated_method", "Method", "text", "stated_method"),
    TextField("operator", "Each operator notified", "each", "operators"),
    TextField("corner", "Each corner of the work area", "corner", "area"),
    TextField("kind_routine", "Sign of a routine ticket", "sign", "ticket_kind", "routine"),
    TextField("kind_emergency", "Sign of an emergency", "sign", "ticket_kind", "emergency"),
    TextField("kind_renewal", "Sign of a renewal", "sign", "ticket_kind", "renewal"),
    TextField("kind_re_mark", "Sign of a re-mark", "sign", "ticket_kind", "re_mark"),
    TextField("kind_site_meeting", "Sign of a site meeting", "sign", "ticket_kind", "site_meeting"),
    TextField("boring_declared", "Sign that boring is declared", "sign", "boring_declared", "yes"),
    TextField("boring_not_declared", "Sign that it is not", "sign", "boring_declared", "no"),
    TextField("white_lined", "Sign of white lining", "sign", "white_lined", "yes"),
    TextField("not_white_lined", "Sign of none", "sign", "white_lined", "no"),
)
BY_NAME = {field.name: field for field in TEXT_FIELDS}
