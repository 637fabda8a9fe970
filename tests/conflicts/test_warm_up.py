"""After the warm-up no assessment and no search compiles anything: nobody on a page waits for a compiler."""

import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management import call_command

from conflicts.models import Bore
from tests.celery_crew import site_environment
from tests.factories import small_job
from tests.job_documents import job_bytes, job_document

# In a process of its own, since this one has compiled for other tests. A kernel is compiled once for each set
# of argument types: those that they add would have been waited for.
CODE = """
import sys
from django import setup
from numba.core.dispatcher import Dispatcher
from conflicts.engine.warm import warm_up

warm_up()

def compiled():
    modules = [module for name, module in sys.modules.items() if name.startswith("conflicts.engine.")]
    values = [value for module in modules for value in vars(module).values()]
    kernels = {value for value in values if isinstance(value, Dispatcher)}
    return {f"{kernel.py_func.__name__}{signature}" for kernel in kernels for signature in kernel.signatures}

before = compiled()
setup()
from django.utils import timezone
from conflicts.assess import compute_bores, document
from conflicts.models import Bore
from conflicts.find_profile import find_profile
from conflicts.inputs import RigInput
from conflicts.profile_wishes import wishes_of
bores = list(Bore.objects.values_list("pk", flat=True))
for computed in compute_bores(bores).values():
    document(computed.at(timezone.now()))
rig = RigInput(3.0, 30.0, -0.3, 0.0, 0.0, 0.3, 0.9)
for bore in bores:
    for wishes in (wishes_of(), wishes_of(rig_back_m=2.0, rig_ahead_m=1.0)):
        print(find_profile(bore, wishes, rig=rig, with_bound=True).rods is not None, file=sys.stderr)
print(len(before) > 0, sorted(compiled() - before))
"""


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_an_assessment_and_a_search_compile_nothing_that_the_warm_up_did_not(tmp_path):
    small_job()
    file = tmp_path / "job.geojson"
    file.write_bytes(job_bytes(job_document()))
    for path in (file, *sorted((settings.BASE_DIR / "conflicts" / "demo").glob("*.geojson"))):
        call_command("load_job", str(path), verbosity=0)
    assert Bore.objects.count() >= 3
    done = subprocess.run(
        [sys.executable, "-c", CODE],
        cwd=settings.BASE_DIR,
        env=site_environment(),
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.stdout.strip() == "True []", done.stderr
