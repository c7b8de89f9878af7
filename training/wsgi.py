"""The way in for a WSGI server. It does not start on a database whose records or organisations are not guarded."""

import os

from django.core.wsgi import get_wsgi_application

from training.settling import settle

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "training.settings")
application = get_wsgi_application()


def look_at_the_database() -> None:
    """Log what the site stands on; stop if a guard is missing. Leaves no connection open for a fork to share."""
    from django.db import connection, connections

    from training.sqlite.starting import log_database
    from training.standing.waiting import warn_of_waiting
    from training.tenancy.checks import warn_of_one_role

    log_database(connection)
    warn_of_one_role(connection)
    try:
        _stop_if_unguarded()
        warn_of_waiting(connection)
    finally:
        connections.close_all()


def _stop_if_unguarded() -> None:
    from django.core.exceptions import ImproperlyConfigured

    from training.records.checks import records_are_guarded
    from training.tenancy import replica
    from training.tenancy.checks import site_role_is_sound

    read = ["default", replica.REPLICA] if replica.is_answering() else ["default"]
    errors = [*records_are_guarded(databases=["default"]), *site_role_is_sound(databases=read)]
    if errors:
        raise ImproperlyConfigured(" ".join(f"{e.msg} {e.hint}" for e in errors))


look_at_the_database()
settle()
