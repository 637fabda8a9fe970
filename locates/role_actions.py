"""Who may do what: one table of actions by roles, which the migrations' grants are held to."""

from collections.abc import Iterable
from dataclasses import dataclass

from locates.roles import COORDINATOR, FOREMAN, ROLES, SAFETY_MANAGER


@dataclass(frozen=True)
class RoleAction:
    """One thing that people do, the permissions that it takes, and who has them."""

    words: str
    permissions: tuple[str, ...]
    roles: tuple[str, ...]


def _writes(*names: str, actions: tuple[str, ...] = ("add", "change")) -> tuple[str, ...]:
    return tuple(
        f"{app_label}.{action}_{model}"
        for app_label, model in (name.split(".") for name in names)
        for action in actions
    )


def _adds(*names: str) -> tuple[str, ...]:
    return _writes(*names, actions=("add",))


ACTIONS = (
    RoleAction("Begin jobs and change their settings", _writes("locates.job"), (COORDINATOR,)),
    RoleAction(
        "Keep operators and required clearances",
        _writes("locates.facilityoperator", "locates.clearancerequirement"),
        (COORDINATOR, SAFETY_MANAGER),
    ),
    RoleAction(
        "Log tickets and what operators answer",
        _writes("locates.ticket", "locates.response", "locates.responsepaper"),
        (COORDINATOR,),
    ),
    RoleAction(
        "Log marks, test holes and surface features, retire them, and bring files of surveyed things",
        _writes("locates.mark", "locates.testhole", "locates.surfacefeature", "locates.vectorimport"),
        (COORDINATOR, FOREMAN),
    ),
    RoleAction(
        "Log surveyed ground and the base of the map",
        _writes("locates.groundpoint", "locates.linework"),
        (COORDINATOR,),
    ),
    RoleAction(
        "Plan bores and their pits, and state how their ends are joined",
        _writes("conflicts.bore", "conflicts.pit", "conflicts.routejoint"),
        (COORDINATOR,),
    ),
    RoleAction("Keep readers of confirmations", _writes("locates.textreader"), (COORDINATOR,)),
    RoleAction(
        "Note the days that a centre counts its own way", _writes("locates.centreday"), (COORDINATOR,)
    ),
    RoleAction("Add photos", _adds("locates.photo"), ROLES),
    RoleAction(
        "Open the original of a photo, with the place and the device in it",
        ("locates.open_original_photo",),
        (COORDINATOR, SAFETY_MANAGER),
    ),
    RoleAction("Sign the daily walk", _adds("conflicts.dailywalk"), (FOREMAN,)),
    RoleAction("Sign the watch of a crossing", _adds("conflicts.crossingwatch"), (FOREMAN,)),
    RoleAction(
        "Log the rods drilled, withdraw them, and check the locating device at a test hole",
        _adds("conflicts.drilledrod", "conflicts.rodwithdrawal", "conflicts.locatorcheck"),
        (FOREMAN,),
    ),
    RoleAction(
        "Ask for a variance, and add evidence to one",
        _adds("conflicts.variance", "conflicts.variancepaper"),
        ROLES,
    ),
    RoleAction(
        "Log the passes of a reamer and the pullback, and withdraw one that was entered wrongly",
        _adds("conflicts.holepass", "conflicts.holepasswithdrawal"),
        (FOREMAN,),
    ),
    RoleAction(
        "Sign a variance that somebody else asked for, and end one; read the audit",
        _adds("conflicts.variancesignature", "conflicts.varianceend"),
        (SAFETY_MANAGER,),
    ),
    RoleAction("Sign a release", _adds("conflicts.release"), (FOREMAN,)),
    RoleAction("Withdraw a release", _adds("conflicts.releasewithdrawal"), (FOREMAN, SAFETY_MANAGER)),
    RoleAction("Record the camera inspection of a sewer", _adds("conflicts.camerainspection"), ROLES),
    RoleAction("Close out a bore", _adds("conflicts.closeout"), (FOREMAN, SAFETY_MANAGER)),
    RoleAction("Report damage or a near miss", _adds("conflicts.damagereport"), ROLES),
    RoleAction("Have a clearance record made", _adds("conflicts.recordmaking"), ROLES),
    RoleAction(
        "Keep the company's settings, and its own versions of the rules of jurisdictions",
        _writes("locates.organisation", "locates.jurisdictionrule"),
        (SAFETY_MANAGER,),
    ),
    RoleAction("Read every mail and notice of the company", ("locates.read_every_mail",), (SAFETY_MANAGER,)),
)
"""All that changes something or is not for everybody; the rest every role may look at."""


def rows() -> list[tuple[RoleAction, list[tuple[str, bool]]]]:
    """The table as a page shows it: each action with every role and whether it may."""
    return [(action, [(role, role in action.roles) for role in ROLES]) for action in ACTIONS]


def permissions_of(role: str, actions: Iterable[RoleAction] = ACTIONS) -> set[str]:
    """What a role may do besides looking."""
    return {permission for action in actions if role in action.roles for permission in action.permissions}
