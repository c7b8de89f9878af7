"""Every model of the site, on each of four lists or excused from it by name: a test walks them.

Add a model here when you add it. The tenancy list itself is `policies.POLICIES`.
"""

from __future__ import annotations

_ACCOUNTS = "an account belongs to no organisation; it is read before anybody is known"
_DJANGO = "Django's own words about models and rights; holds nothing of anybody"
_CACHE = "a cache, worked out anew from the records at each deed"
_PUBLISHED = "written by publishing a programme alone, whose record says all of it"

# No row-level security ------------------------------------------------------------------------------------------

NO_TENANT = {
    "people.User": _ACCOUNTS,
    "sessions.Session": _ACCOUNTS,
    "contenttypes.ContentType": _DJANGO,
    "auth.Permission": _DJANGO,
    "auth.Group": _DJANGO,
    "auth.Group_permissions": _DJANGO,
}

# What the site's role may not do to a table's rows -----------------------------------------------------------------

APPEND_ONLY = {"records.Record"}

NEVER_DELETED = {
    "people.User",
    "people.Organisation",
    "people.Member",
    "people.Family",
    "people.Caregiver",
    "people.Assignment",
    "curriculum.Programme",
    "curriculum.Edition",
    "curriculum.RuleSet",
    "curriculum.Enrolment",
}

ONLY_READ = {"contenttypes.ContentType", "auth.Permission", "auth.Group", "auth.Group_permissions"}

MAY_BE_DELETED = {
    "standing.CachedStanding": _CACHE,
    "standing.CachedVerdict": _CACHE,
    "standing.CacheState": _CACHE,
    "standing.Draft": "thrown away once signed, or by its author",
    "sessions.Session": "ends with signing out",
}

# The log of deeds --------------------------------------------------------------------------------------------------

LOGGED = {
    "people.User",
    "people.Organisation",
    "people.Member",
    "people.Family",
    "people.Caregiver",
    "people.Assignment",
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
    "standing.Draft": "no deed until it is signed; its author's alone",
    "sessions.Session": "signing in and out are logged, not the session's own row",
    "contenttypes.ContentType": _DJANGO,
    "auth.Permission": _DJANGO,
    "auth.Group": _DJANGO,
    "auth.Group_permissions": _DJANGO,
}

# A backup is the whole database. Nothing is left out of it today; who leaves something out says why here. ------------

NOT_BACKED_UP: dict[str, str] = {}
