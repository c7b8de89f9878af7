"""How a backup or a restore can end without having changed anything."""


class RefusedRestoreError(Exception):
    """Nothing was changed; the message says why."""


class InUseError(RefusedRestoreError):
    """Somebody else has the database open."""
