"""WSGI application; it does not start where the database would let a record be changed."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "plant.settings")
application = get_wsgi_application()

from records.ledger.guard import refuse_to_start_unguarded  # noqa: E402
from records.ledger.memory import keep_from_act_to_act  # noqa: E402

refuse_to_start_unguarded()
keep_from_act_to_act()
