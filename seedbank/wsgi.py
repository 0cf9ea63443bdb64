"""The door for a WSGI server."""

import gc
import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "seedbank.settings")

application = get_wsgi_application()

# What is loaded now stays for good. Left among the rest, the collector would walk through all of
# it in the midst of somebody's page.
gc.collect()
gc.freeze()
