"""Every address of the site tied to what is done there, so that each cell of the table can be tried."""

from dataclasses import dataclass, field

LOOK = "look at the records of one's own company"
"""What every role may; `locates.role_actions` says so above its table."""

OWN = "keep what is a person's own: notices, follows, views, the calendar's address"
"""What every role may, each for itself alone."""

OPEN_TO_ALL_LOGGED_IN = {
    "locates:roles": "who has no role yet reads here whom to ask, and whoever has one what it opens",
}
"""Address to why no role is asked for."""

OPEN_TO_EVERYBODY = {
    "healthz": "machines ask it whether the site is up; it says nothing else",
    "login": "it is where one logs in",
    "logout": "who is logged out already loses nothing",
    "admin-login": "it leads to the login",
    "locates:calendar-feed": "calendars cannot log in; the address holds a secret of 256 bits",
}
"""Address to why no login is asked for."""


THE_BORE, THE_TICKET = "the bore", "the ticket"
"""What is sent stands for the id of the company's own."""


@dataclass(frozen=True)
class Ask:
    """One request: what it does, as a permission of the table or a word from above, and what it sends."""

    does: str
    method: str
    sent: dict[str, str] = field(default_factory=dict)


def look() -> tuple[Ask, ...]:
    """A page that is only looked at."""
    return (Ask(LOOK, "get"),)


def shows(does: str) -> tuple[Ask, ...]:
    """A page that only some may look at."""
    return (Ask(does, "get"),)


def takes(does: str, **sent: str) -> tuple[Ask, ...]:
    """An address that only takes what is sent."""
    return (Ask(does, "post", sent),)


def form(does: str) -> tuple[Ask, ...]:
    """A form that is shown to whoever may send it."""
    return (Ask(does, "get"), Ask(does, "post"))


def page_with(does: str, **sent: str) -> tuple[Ask, ...]:
    """A page that everybody looks at, with a form that only some may send."""
    return (Ask(LOOK, "get"), Ask(does, "post", sent))


def _records(*names: str, permission: str, ways: tuple[str, ...] = ("add", "edit", "retire")) -> dict:
    rights = {"add": "add", "edit": "change", "retire": "change"}
    app_label, _, model = permission.partition(".")
    return {f"{name}-{way}": form(f"{app_label}.{rights[way]}_{model}") for name in names for way in ways}


ASKS: dict[str, tuple[Ask, ...]] = {
    **_records("locates:job", permission="locates.job"),
    **_records("locates:operator", permission="locates.facilityoperator"),
    **_records("locates:requirement", permission="locates.clearancerequirement"),
    **_records("locates:ticket", permission="locates.ticket"),
    **_records("locates:response", permission="locates.response", ways=("add", "retire")),
    **_records("locates:response-paper", permission="locates.responsepaper", ways=("retire",)),
    **_records("locates:mark", permission="locates.mark"),
    **_records("locates:test-hole", permission="locates.testhole"),
    **_records("locates:surface-feature", permission="locates.surfacefeature"),
    **_records("locates:ground-point", permission="locates.groundpoint"),
    **_records("locates:linework", permission="locates.linework"),
    **_records("locates:text-reader", permission="locates.textreader", ways=("add", "edit")),
    **_records("conflicts:bore", permission="conflicts.bore"),
    **_records("conflicts:pit", permission="conflicts.pit"),
    **_records("conflicts:joint", permission="conflicts.routejoint"),
    "locates:rules": look(),
    "locates:rule": look(),
    "locates:rule-own": form("locates.add_jurisdictionrule"),
    "locates:rule-shipped": takes("locates.change_jurisdictionrule"),
    "locates:centre-days": page_with("locates.add_centreday"),
    "locates:centre-day-retire": takes("locates.change_centreday"),
    "locates:retired-jobs": shows("locates.change_job"),
    "locates:restore": takes("locates.change_mark"),
    "locates:job-history": look(),
    "locates:surface-feature-sign-off": form("locates.change_surfacefeature"),
    "locates:tickets-to-review": look(),
    "locates:ticket": look(),
    "locates:ticket-finish": takes("locates.change_ticket"),
    "locates:ticket-renew": shows("locates.add_ticket"),
    "locates:ticket-reviewed": takes("locates.change_ticket"),
    "locates:ticket-dates": (
        *takes("locates.add_ticket"),
        *takes("locates.change_ticket", stored_ticket=THE_TICKET),
    ),
    "locates:ticket-from-text": form("locates.add_ticket"),
    "locates:response-quick": takes("locates.add_response"),
    "locates:response-papers": form("locates.add_responsepaper"),
    "locates:response-paper": look(),
    "locates:text-readers": look(),
    "locates:photo-add": page_with("locates.add_photo"),
    "locates:photo-facts": look(),
    "locates:photo": shows("locates.open_original_photo"),
    "locates:photo-thumbnail": look(),
    "locates:photo-copy": look(),
    "locates:board": look(),
    "locates:board-tickets": look(),
    "locates:board-export": look(),
    "locates:board-keep": takes(OWN),
    "locates:board-forget": takes(OWN),
    "locates:notices": look(),
    "locates:notices-read": takes(OWN),
    "locates:notice-settings": form(OWN),
    "locates:leave-off": takes(OWN),
    "locates:job-follow": takes(OWN),
    "locates:ticket-follow": takes(OWN),
    "locates:notices-told": shows("locates.read_every_mail"),
    "locates:notices-told-file": shows("locates.read_every_mail"),
    "locates:mails": look(),
    "locates:mail": form("locates.read_every_mail"),
    "locates:calendar": look(),
    "locates:calendar-address": form(OWN),
    "locates:bulk-job": shows("locates.add_ticket"),
    "locates:bulk-empty": shows("locates.add_ticket"),
    "locates:bulk": form("locates.add_ticket"),
    "locates:bulk-columns": form("locates.add_ticket"),
    "locates:bulk-check": form("locates.add_ticket"),
    "locates:bulk-result": shows("locates.add_ticket"),
    "locates:import": form("locates.add_vectorimport"),
    "locates:import-columns": form("locates.add_vectorimport"),
    "locates:import-values": form("locates.add_vectorimport"),
    "locates:import-check": form("locates.add_vectorimport"),
    "locates:import-state": shows("locates.add_vectorimport"),
    "locates:import-result": form("locates.add_vectorimport"),
    "locates:export": look(),
    "locates:map-base": look(),
    "conflicts:home": look(),
    "conflicts:search": look(),
    "conflicts:jobs": look(),
    "conflicts:job": look(),
    "conflicts:job-file": look(),
    "conflicts:route": look(),
    "conflicts:route-file": look(),
    "conflicts:map-data": look(),
    "conflicts:strike": look(),
    "conflicts:damage-add": form("conflicts.add_damagereport"),
    "conflicts:damage": look(),
    "conflicts:ticket-area": (
        *takes("locates.add_ticket", corridor_bore=THE_BORE),
        *takes("locates.change_ticket", corridor_bore=THE_BORE, stored_ticket=THE_TICKET),
    ),
    "conflicts:ticket-draft": shows("locates.add_ticket"),
    "conflicts:ledger": look(),
    "conflicts:job-as-of": look(),
    "conflicts:bore-as-of": look(),
    "conflicts:map-as-of": look(),
    "conflicts:coverage": look(),
    "conflicts:bore": look(),
    "conflicts:bore_state": look(),
    "conflicts:assessment": look(),
    "conflicts:crossing": look(),
    "conflicts:pullback": look(),
    "conflicts:profile-search": look(),
    "conflicts:profile-by-hand": form(LOOK),
    "conflicts:profile-figures": look(),
    "conflicts:profile-compare": look(),
    "conflicts:profile-take": takes("conflicts.change_bore"),
    "conflicts:ahead": look(),
    "conflicts:ahead-state": look(),
    "conflicts:walk": page_with("conflicts.add_dailywalk"),
    "conflicts:rods": page_with("conflicts.add_drilledrod"),
    "conflicts:rods-undo": takes("conflicts.add_rodwithdrawal"),
    "conflicts:rods-pull-back": form("conflicts.add_rodwithdrawal"),
    "conflicts:locator-check": form("conflicts.add_locatorcheck"),
    "conflicts:passes": page_with("conflicts.add_holepass"),
    "conflicts:passes-pullback": form("conflicts.add_holepass"),
    "conflicts:passes-withdraw": form("conflicts.add_holepasswithdrawal"),
    "conflicts:watches": look(),
    "conflicts:watch": form("conflicts.add_crossingwatch"),
    "conflicts:camera": form("conflicts.add_camerainspection"),
    "conflicts:close-out": form("conflicts.add_closeout"),
    "conflicts:release-sign": form("conflicts.add_release"),
    "conflicts:release": page_with("conflicts.add_releasewithdrawal"),
    "conflicts:release-standing": look(),
    "conflicts:variances": look(),
    "conflicts:variance-ask": form("conflicts.add_variance"),
    "conflicts:variance": (
        *page_with("conflicts.add_variancesignature", do="sign"),
        *takes("conflicts.add_varianceend", do="end"),
    ),
    "conflicts:variance-evidence": form("conflicts.add_variancepaper"),
    "conflicts:variance-paper": look(),
    "conflicts:clearance-record": page_with("conflicts.add_recordmaking"),
    "conflicts:clearance-record-state": look(),
    "conflicts:clearance-record-file": look(),
    "conflicts:audit": shows("conflicts.add_variancesignature"),
    "conflicts:audit-file": shows("conflicts.add_variancesignature"),
    "conflicts:audit-book": shows("conflicts.add_variancesignature"),
}
"""Name of an address to the requests that it takes; any other is answered 405 to whoever may look."""

IN_THE_ADMIN = {
    "locates.change_organisation": "admin:locates_organisation_change",
}
"""Permission to the page of the admin on which alone it counts."""

NOT_ASKED_FOR = {
    "locates.add_organisation": "whoever keeps the accounts begins a company",
    "locates.change_vectorimport": "the steps after a file was brought in ask for adding",
}
"""Permission that a role has and that opens nothing, to why."""
