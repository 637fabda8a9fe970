"""The site for a WSGI server."""

import os

from django.core.wsgi import get_wsgi_application

from conflicts.engine.warm import warm_up

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

application = get_wsgi_application()
warm_up()  # now, since the first request would wait for it
