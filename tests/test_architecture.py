"""Which module may import which, read from the syntax trees of the whole project."""

import ast
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("locates", "conflicts", "config")
LONGEST_FILE = 400
LONGEST_BODY = 60

# Rooms that compute from what comes in, and read no clock, settings, environment or database.
PURE_ROOMS = (
    "conflicts.engine",
    "conflicts.audit.columns",
    "conflicts.audit.figures",
    "conflicts.audit.places",
    "conflicts.edit_words",
    "conflicts.inputs",
    "conflicts.scene",
    "conflicts.crossings",
    "conflicts.checks",
    "conflicts.faults",
    "conflicts.ahead_first_rod",
    "conflicts.ahead_lengths",
    "conflicts.ahead_sheet",
    "conflicts.ahead_stops",
    "conflicts.ahead_words",
    "conflicts.closing_grounds",
    "conflicts.rests_on",
    "conflicts.site_records",
    "conflicts.stop_rules",
    "conflicts.rod_log",
    "conflicts.head_errors",
    "conflicts.moved_ground",
    "conflicts.drilled",
    "conflicts.drilled_beside",
    "conflicts.drilled_stops",
    "conflicts.drilled_plan",
    "conflicts.as_drilled",
    "conflicts.asked_then",
    "conflicts.held_to_then",
    "conflicts.same_place",
    "conflicts.drilled_told",
    "conflicts.drilled_alone",
    "conflicts.drilled_faults",
    "conflicts.logged_since",
    "conflicts.looks_before",
    "conflicts.met_lines",
    "conflicts.rod_oddities",
    "conflicts.evidence",
    "conflicts.oddity",
    "conflicts.watch_oddities",
    "conflicts.hole_passes",
    "conflicts.pass_questions",
    "conflicts.passed_unwatched",
    "conflicts.passes_sheet",
    "conflicts.watch_table",
    "conflicts.pass_watched",
    "conflicts.pull_backs",
    "conflicts.pulled_paths",
    "conflicts.watched_before",
    "conflicts.watched_before_log",
    "conflicts.to_watch",
    "conflicts.closing_faults",
    "conflicts.short_of_exit",
    "conflicts.closing_sheet",
    "conflicts.camera_faults",
    "conflicts.found_since",
    "conflicts.found_inputs",
    "conflicts.way_ahead",
    "conflicts.bit_ahead",
    "conflicts.head_start",
    "conflicts.crossings_ahead",
    "conflicts.together_words",
    "conflicts.next_crossing",
    "conflicts.next_rod",
    "conflicts.plan_end",
    "conflicts.exit_ahead",
    "conflicts.exit_and_lines",
    "conflicts.exit_steering",
    "conflicts.variance_reasons",
    "conflicts.variance_words",
    "conflicts.planned_profile",
    "conflicts.plan_sheet",
    "conflicts.plan_text",
    "conflicts.profile_check",
    "conflicts.pullback",
    "conflicts.route",
    "conflicts.profile_demands",
    "conflicts.profile_document",
    "conflicts.profile_relax",
    "conflicts.profile_eased",
    "conflicts.profile_stretches",
    "conflicts.profile_wishes",
    "conflicts.profile_words",
    "conflicts.surface_check",
    "conflicts.needs_today",
    "conflicts.sentences",
    "conflicts.assessment_text",
    "conflicts.drawing",
    "conflicts.record.sheet",
    "conflicts.record.chain_sheet",
    "conflicts.record.drilled_sheet",
    "conflicts.strike.advice",
    "conflicts.walk_days",
    "conflicts.watch_matching",
    "conflicts.worked",
    "conflicts.worked_verdict",
    "locates.intake",
    "locates.answers",
    "locates.canonical",
    "locates.chain",
    "locates.noted_heads",
    "locates.contradictions",
    "locates.one_call",
    "locates.minus",
    "locates.line_words",
    "locates.units",
    "locates.angles",
    "locates.local_time",
    "locates.notice_words",
    "locates.calendar_entries",
    "locates.quality",
    "locates.exchange.job_file",
    "locates.exchange.exif_reader",
    "locates.exchange.dot_fix",
)
IMPURE = ("django", "celery", "psycopg", "os", "time", "random", "config", "pathlib")
CLOCKS = {"now", "utcnow", "today"}
# Reading data that ships with the code is no state of the machine.
MAY_READ_FILES = {"conflicts.strike.advice", "locates.one_call.rules", "locates.exchange.job_file_schema"}


@cache
def modules() -> dict[str, ast.Module]:
    """Every module of the project but migrations, by dotted name."""
    found = {}
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            if "migrations" in path.parts:
                continue
            parts = path.relative_to(ROOT).with_suffix("").parts
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            found[name] = ast.parse(path.read_text(encoding="utf-8"), str(path))
    return found


def imports_of(name: str) -> set[str]:
    """Dotted names that a module imports: modules, and members where they are modules."""
    found = set()
    for node in ast.walk(modules()[name]):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found |= {f"{node.module}.{alias.name}" for alias in node.names} & set(modules())
    return found


def is_in(name: str, room: str) -> bool:
    return name == room or name.startswith(f"{room}.")


def pure_modules() -> list[str]:
    """The modules of the pure rooms, and all of the project's that they import."""
    waiting = [name for name in modules() if any(is_in(name, room) for room in PURE_ROOMS)]
    seen: list[str] = []
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.append(name)
        waiting += [one for one in imports_of(name) if one in modules() and one not in PACKAGES]
    return sorted(seen)


def test_the_pure_rooms_are_there():
    for room in PURE_ROOMS:
        assert any(is_in(name, room) for name in modules()), room


@pytest.mark.parametrize("name", pure_modules())
def test_a_pure_module_and_all_it_imports_touch_no_outside_state(name):
    allowed = {"pathlib"} if name in MAY_READ_FILES else set()
    outside = {one for one in imports_of(name) if one.split(".")[0] in set(IMPURE) - allowed}
    assert outside == set(), f"{name} imports {outside}"
    clocks = {
        node.attr
        for node in ast.walk(modules()[name])
        if isinstance(node, ast.Attribute) and node.attr in CLOCKS
    }
    assert clocks == set(), f"{name} reads a clock: {clocks}"


def test_locates_never_imports_conflicts():
    against = {
        (name, one)
        for name in modules()
        if is_in(name, "locates")
        for one in imports_of(name)
        if is_in(one, "conflicts")
    }
    assert against == set()


def test_conflicts_never_imports_the_views_of_locates():
    against = {
        (name, one)
        for name in modules()
        if is_in(name, "conflicts")
        for one in imports_of(name)
        if is_in(one, "locates.views")
    }
    assert against == set()


def test_what_faces_people_never_computes():
    """A view, form, tag, task or command calls one function; the engine is not for it, but for its errors."""
    rooms = ("views", "forms", "templatetags", "admin", "tasks", "management")
    against = {
        (name, one)
        for name in modules()
        if name.split(".")[1:2] and name.split(".")[1] in rooms
        for one in imports_of(name)
        if is_in(one, "conflicts.engine") and one not in ("conflicts.engine.errors", "conflicts.engine.warm")
    }
    assert against == set()


def test_migrations_do_not_import_the_models_they_make():
    for package in PACKAGES:
        for path in (ROOT / package).glob("migrations/*.py"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            named = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
            assert not {one for one in named if one.endswith(".models") and not one.startswith("django")}, (
                path
            )


@pytest.mark.parametrize("name", sorted(modules()))
def test_a_file_is_read_in_a_sitting_and_a_function_at_a_glance(name):
    tree = modules()[name]
    last = max((node.end_lineno for node in ast.walk(tree) if hasattr(node, "end_lineno")), default=0)
    assert last <= LONGEST_FILE, f"{name} has {last} lines"
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            length = body[-1].end_lineno - body[0].lineno + 1 if body else 0
            assert length < LONGEST_BODY, f"{name}.{node.name} has {length} lines"


def test_no_module_is_named_for_nothing():
    vague = {"utils", "helpers", "common", "services", "misc"}
    assert not {name for name in modules() if name.split(".")[-1] in vague}
