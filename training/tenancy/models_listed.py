"""Every model of the site, on each of four lists or excused from it by name: a test walks them.

Add a model here when you add it. The tenancy list itself is `policies.POLICIES`.
"""

from __future__ import annotations

_ACCOUNTS = "an account belongs to no organisation; it is read before anybody is known"
_DJANGO = "Django's own words about models and rights; holds nothing of anybody"
_CACHE = "a cache, worked out anew from the records at each deed"
_PUBLISHED = "written by publishing a programme alone, whose record says all of it"

_COUNT = "counts wrong passwords under a digest of the name, before anybody is known"
_FACTOR = "an account's, which belongs to no organisation; asked for before anybody is signed in"
_NO_MAIL = "comes with the library that keeps the second factor; the site keeps no mail address and writes none"

# No row-level security ------------------------------------------------------------------------------------------

NO_TENANT = {
    "people.User": _ACCOUNTS,
    "sessions.Session": _ACCOUNTS,
    "mfa.Authenticator": _FACTOR,
    "account.EmailAddress": _NO_MAIL,
    "account.EmailConfirmation": _NO_MAIL,
    "axes.AccessAttempt": _COUNT,
    "axes.AccessAttemptExpiration": _COUNT,
    "axes.AccessFailureLog": _COUNT,
    "axes.AccessLog": _COUNT,
    "invitations.TriedCode": "a code that led nowhere has no organisation; a keyed digest of an address, and a time",
    "contenttypes.ContentType": _DJANGO,
    "auth.Permission": _DJANGO,
    "auth.Group": _DJANGO,
    "auth.Group_permissions": _DJANGO,
}

# What the site's role may not do to a table's rows -----------------------------------------------------------------

APPEND_ONLY = {"records.Record", "log.Entry"}

NEVER_DELETED = {
    "people.User",
    "people.Organisation",
    "people.Member",
    "people.Family",
    "people.Caregiver",
    "people.Assignment",
    "people.AccountEntry",
    "invitations.Invitation",
    "invitations.RemovedAccount",
    "handover.HandoverCode",
    "handover.Offer",
    "curriculum.Programme",
    "curriculum.Edition",
    "curriculum.RuleSet",
    "curriculum.Enrolment",
}

ONLY_READ = {
    "contenttypes.ContentType",
    "auth.Permission",
    "auth.Group",
    "auth.Group_permissions",
    "account.EmailAddress",
    "account.EmailConfirmation",
    "axes.AccessFailureLog",
    "axes.AccessLog",
}

MAY_BE_DELETED = {
    "standing.CachedStanding": _CACHE,
    "standing.CachedVerdict": _CACHE,
    "standing.CacheState": _CACHE,
    "standing.BoardFamily": _CACHE,
    "standing.BoardSpan": _CACHE,
    "standing.LapseDay": _CACHE,
    "standing.AssessedBy": _CACHE,
    "standing.Draft": "thrown away once signed, or by its author",
    "sessions.Session": "ends with signing out",
    "curriculum.ProgrammeDraft": "gone once published, or thrown away by who writes it",
    "mfa.Authenticator": "goes when the second factor is taken off",
    "axes.AccessAttempt": "forgotten when the password was right, or a lock is lifted",
    "axes.AccessAttemptExpiration": "goes with what it counts",
    "invitations.TriedCode": "kept a day",
}

# The log of deeds --------------------------------------------------------------------------------------------------

LOGGED = {
    "people.User",
    "people.Organisation",
    "people.Member",
    "people.Family",
    "people.Caregiver",
    "people.Assignment",
    "people.AccountEntry",
    "mfa.Authenticator",
    "invitations.Invitation",
    "invitations.RemovedAccount",
    "handover.HandoverCode",
    "handover.Offer",
    "curriculum.Programme",
    "records.Record",
}

NOT_LOGGED = {
    "curriculum.Edition": _PUBLISHED,
    "curriculum.RuleSet": _PUBLISHED,
    "curriculum.Enrolment": "written with its family, whose record names the programme",
    "standing.CachedStanding": _CACHE,
    "standing.CachedVerdict": _CACHE,
    "standing.CacheState": _CACHE,
    "standing.BoardFamily": _CACHE,
    "standing.BoardSpan": _CACHE,
    "standing.LapseDay": _CACHE,
    "standing.AssessedBy": _CACHE,
    "standing.Draft": "no deed until it is signed; its author's alone",
    "curriculum.ProgrammeDraft": "no deed until it is published, whose records say all of it",
    "log.Entry": "is the log",
    "invitations.TriedCode": "no deed: what did not fit, of somebody nobody knows",
    "account.EmailAddress": _NO_MAIL,
    "account.EmailConfirmation": _NO_MAIL,
    "axes.AccessAttempt": "failed sign-ins and locks are logged, not the count",
    "axes.AccessAttemptExpiration": "failed sign-ins and locks are logged, not the count",
    "axes.AccessFailureLog": _COUNT,
    "axes.AccessLog": _COUNT,
    "sessions.Session": "signing in and out are logged, not the session's own row",
    "contenttypes.ContentType": _DJANGO,
    "auth.Permission": _DJANGO,
    "auth.Group": _DJANGO,
    "auth.Group_permissions": _DJANGO,
}

# A backup is the whole database. Nothing is left out of it today; who leaves something out says why here. ------------

NOT_BACKED_UP: dict[str, str] = {}
