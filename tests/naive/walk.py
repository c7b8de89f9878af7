"""The naive reading's walk: one caregiver's history, day by day and in a day moment by moment (4.3 to 4.6).

The readings chosen are listed in reading.py.
"""

from __future__ import annotations

from datetime import date, timedelta

from .pieces import (
    add,
    covers,
    day,
    duration,
    edition_acceptable,
    end_of,
    grace_end,
    instant,
    known,
    looks_at,
    met,
    needs_hold,
    renewal_needs,
    same,
    scored,
)

# Within a day and a time: which kind of entry comes first (4.3).
ORDER = ("care_plan", "recheck", "hold", "withdrawal", "certificate", "accepted", "signature", "demonstration")


class Family:
    """What is known of one case at ``known_at``: lists of records, and questions that need no history."""

    def __init__(self, case):
        at = instant(case["known_at"]) if case.get("known_at") else None
        self.case = case
        self.qualifications = known(case, case.get("qualifications"), at)
        self.care_plan = known(case, case.get("care_plan"), at)
        self.authorisations = known(case, case.get("authorisations"), at)
        self.items = known(case, case.get("items"), at)
        self.exceptions = known(case, case.get("exceptions"), at)
        self.records = {c["id"]: known(case, c.get("records"), at) for c in case["caregivers"]}
        self.editions = {
            s["code"]: sorted(known(case, s["editions"], at), key=lambda e: e["edition"])
            for s in case["programme"]["skills"]
        }
        self.rules = known(case, case["programme"].get("rules"), at)
        self.skills = list(self.editions)
        self.edition_by_day = {}
        self.first_plan_day = min((day(e["on"]) for e in self.care_plan), default=None)

    def edition_on(self, skill, on):
        if (skill, on) not in self.edition_by_day:
            begun = [e for e in self.editions[skill] if day(e["in_force_from"]) <= on]
            newest = max(begun, key=lambda e: (e["in_force_from"], e["edition"]), default=None)
            self.edition_by_day[skill, on] = newest
        return self.edition_by_day[skill, on]

    def rules_on(self, on):
        begun = [r for r in self.rules if day(r["in_force_from"]) <= on]
        return max(begun, key=lambda r: (r["in_force_from"], instant(r["recorded_at"]))) if begun else None

    def required(self, skill, on, facts):
        edition = self.edition_on(skill, on)
        return edition is not None and met(edition.get("applies_when"), facts or {})

    def authorised(self, skill, on):
        edition = self.edition_on(skill, on)
        if edition is None or not edition.get("needs_authorisation"):
            return True
        return any(a.get("skill") in (None, skill) and covers(a, on) for a in self.authorisations)


class SkillOfOne:
    """What has happened so far to one caregiver in one skill. Moments are whole numbers that only grow."""

    def __init__(self):
        self.phase = "learning"  # learning, awaiting, current, lapsed, withdrawn
        self.clock = None
        self.full_floor = self.renewal_floor = 0
        self.passes, self.failures, self.rechecks = [], [], []
        self.signatures, self.certificates = [], []
        self.wait = None
        self.latest = None  # the latest completing or renewing pass: its day and the facts stated then
        self.ever_signed_off = self.attempted = False

    def failures_after(self, moment):
        return [f for f in self.failures if f["at"] > moment]


class Walk:
    """The history of one caregiver, day by day."""

    def __init__(self, family, caregiver):
        self.family = family
        self.id = caregiver["id"]
        self.records = family.records[self.id]
        self.holds = [r for r in self.records if r["kind"] == "hold"]
        self.state = {skill: SkillOfOne() for skill in family.skills}
        self.facts = None
        self.last_stated = {}
        self.required_before = {skill: [] for skill in family.skills}
        self.gate_at_end = {}
        self.at = 0
        self.today = None
        own = [r for r in self.records if r["kind"] in ORDER]
        entries = own + [{**e, "kind": "care_plan"} for e in family.care_plan]
        entries.sort(key=lambda r: (r["on"], r.get("time") or "", ORDER.index(r["kind"]), r["id"]))
        self.entries = {}
        for entry in entries:
            self.entries.setdefault(day(entry["on"]), []).append(entry)

    def run(self, first, last):
        """Return {day: {skill: (standing, last_day, may_practise, signed_off)}}."""
        days = {}
        for n in range((last - first).days + 1):
            self.today = first + timedelta(days=n)
            self.start_of_day()
            for entry in self.entries.get(self.today, []):
                self.at += 1
                getattr(self, "see_" + entry["kind"])(entry)
                self.let_lapse()
            days[self.today] = self.end_of_day()
        return days

    def edition(self, skill):
        return self.family.edition_on(skill, self.today)

    def standard(self, skill):
        edition = self.edition(skill)
        return edition["standard"] if edition else {}

    # ---- what a day begins with ----

    def start_of_day(self):
        for skill, state in self.state.items():
            self.at += 1
            wait_over = state.phase == "awaiting" and state.wait["clock"]["last_day"]
            if wait_over and self.today > wait_over:
                self.end_wait(state)
            for edition in self.family.editions[skill]:
                if day(edition["in_force_from"]) == self.today and edition is not self.family.editions[skill][0]:
                    self.new_edition(state, edition)
            for recheck in state.rechecks:
                if not recheck["open"] and self.today > recheck["due"]:
                    recheck.update(open=True, since=self.at, edition=0)
        self.let_lapse()
        self.watch_required()

    def new_edition(self, state, edition):
        policy = edition["older_sign_offs"]
        if policy == "recheck":
            self.add_recheck(state)
        elif isinstance(policy, dict):
            self.add_recheck(state, due=day(policy["recheck_by"]), edition=edition["edition"])

    def let_lapse(self):
        for state in self.state.values():
            if state.phase == "current" and state.clock["last_day"] and self.today > state.clock["last_day"]:
                state.phase = "lapsed"
                state.full_floor = self.at

    def watch_required(self):
        if self.facts is None:
            return
        for skill, before in self.required_before.items():
            now = self.required(skill)
            if now and before and not before[-1] and True in before:
                self.add_recheck(self.state[skill])
            before.append(now)

    # ---- the deeds ----

    def add_recheck(self, state, fact=None, due=None, edition=0):
        state.rechecks.append({"open": due is None, "since": self.at, "fact": fact, "due": due, "edition": edition})

    def move_floors(self, state):
        state.full_floor = state.renewal_floor = self.at

    def cut_rechecks(self, state):
        for recheck in state.rechecks:
            recheck["since"] = self.at

    def end_wait(self, state):
        state.phase, state.wait = "learning", None
        self.move_floors(state)
        self.cut_rechecks(state)

    def become_current(self, state, clock):
        state.phase, state.clock, state.wait = "current", clock, None
        state.ever_signed_off = True
        self.move_floors(state)

    def remember_pass(self, state):
        state.latest = {"on": self.today, "facts": dict(self.last_stated)}

    def see_care_plan(self, entry):
        facts = {name: value for name, value in entry["facts"].items() if value is not None}
        self.facts = facts
        changed = [n for n in facts if n in self.last_stated and not same(facts[n], self.last_stated[n])]
        for skill, state in self.state.items():
            on_change = (self.edition(skill) or {}).get("on_change") or {}
            for name in changed:
                then = state.latest["facts"] if state.latest else {}
                if name in then and same(then[name], facts[name]):
                    state.rechecks = [r for r in state.rechecks if r["fact"] != name]
                elif name in on_change:
                    self.fact_changed(state, name, on_change[name])
        self.last_stated.update(facts)
        self.watch_required()

    def fact_changed(self, state, name, effect):
        if effect == "recheck":
            self.add_recheck(state, fact=name)
        elif effect == "restart":
            if state.phase == "awaiting":
                self.end_wait(state)
            self.move_floors(state)
            self.cut_rechecks(state)
            self.add_recheck(state, fact=name)
        else:
            self.add_recheck(state, fact=name, due=add(self.today, duration(effect["recheck_by"])))

    def see_recheck(self, record):
        for skill, state in self.state.items():
            if record.get("skill") in (None, skill):
                self.add_recheck(state)

    def see_hold(self, record):
        """A hold is in force for whole days, so it is looked up, not met on the way."""

    def see_withdrawal(self, record):
        state = self.state[record["skill"]]
        state.phase, state.wait, state.certificates = "withdrawn", None, []
        self.move_floors(state)
        self.cut_rechecks(state)

    def see_certificate(self, record):
        state = self.state[record["skill"]]
        state.certificates.append(day(record.get("through")))
        last = None if None in state.certificates else max(state.certificates)
        self.become_current(state, {"last_day": last, "origin": None, "period": None})
        self.remember_pass(state)
        state.rechecks = []

    def see_accepted(self, record):
        state = self.state[record["skill"]]
        standard = self.standard(record["skill"])
        by_rule = end_of(self.today, duration(standard.get("valid_for")), standard)
        own = {"last_day": day(record.get("last_day")), "origin": None, "period": None}
        endless = date.max
        clock = min(
            (own, by_rule),
            key=lambda c: (c["last_day"] or endless, grace_end(c, standard) if c["last_day"] else endless),
        )
        self.become_current(state, clock)
        self.remember_pass(state)
        state.rechecks = []

    def see_signature(self, record):
        state = self.state[record["skill"]]
        state.signatures.append(record)
        self.try_signatures(state)

    def see_demonstration(self, attempt):
        skill = attempt["skill"]
        state = self.state[skill]
        state.attempted = True
        editions = self.family.editions[skill]
        own = next(e for e in editions if e["edition"] == attempt["edition"])
        outcome = scored(self.family.case, attempt, own, self.family.qualifications, self.records)
        if outcome in ("critical", "not_passed"):
            self.see_failure(skill, state, attempt, outcome)
        if outcome != "passed":
            return
        overridden = any(r["kind"] == "override" and r["record"] == attempt["id"] for r in self.records)
        on_patient = attempt["setting"] == "patient"
        counts = edition_acceptable(editions, attempt["edition"], self.today) and (
            not on_patient or self.family.authorised(skill, self.today)
        )
        if counts or overridden:
            gate = overridden or not on_patient or self.gate_for(skill, attempt)
            state.passes.append({"at": self.at, "on": self.today, "attempt": attempt, "full": gate})
            self.see_pass(skill, state)

    def see_failure(self, skill, state, attempt, outcome):
        state.failures.append({"at": self.at, "attempt": attempt})
        standards = [self.standard(skill)]
        if state.phase == "awaiting":
            kept = state.wait["standard"]
            standards.append(kept)
            ends = outcome == "critical" or kept.get("after_failure", "restart") == "restart"
            if ends and any(looks_at(need, attempt) for need in kept["needs"]):
                self.end_wait(state)
        needs = [n for s in standards for n in (s.get("needs") or []) + renewal_needs(s)]
        if outcome == "critical" and state.ever_signed_off and any(looks_at(need, attempt) for need in needs):
            self.add_recheck(state)

    def see_pass(self, skill, state):
        standard = self.standard(skill)
        renewal = renewal_needs(standard)
        newest = state.passes[-1]
        may_renew = state.phase == "current" or (
            state.phase == "lapsed" and self.today <= grace_end(state.clock, standard)
        )
        renewed = may_renew and self.hold(renewal, standard, state, state.renewal_floor)
        for recheck in list(state.rechecks):
            seen = self.watched(recheck, state.passes)
            if newest in seen and needs_hold(renewal, standard, seen, state.failures_after(recheck["since"])):
                state.rechecks.remove(recheck)
                renewed = renewed or (may_renew and recheck["open"])
        if renewed:
            self.renew(state, standard)
        elif state.phase in ("learning", "lapsed", "withdrawn") and newest["full"]:
            self.try_full(state, standard)

    def hold(self, needs, standard, state, floor, full=False):
        passes = [p for p in state.passes if p["at"] > floor and (p["full"] or not full)]
        return needs_hold(needs, standard, passes, state.failures_after(floor))

    def watched(self, recheck, passes):
        return [p for p in passes if p["at"] > recheck["since"] and p["attempt"]["edition"] >= recheck["edition"]]

    def renew(self, state, standard):
        clock = end_of(self.today, duration(standard.get("valid_for")), standard)
        before = state.clock["last_day"]
        if before is not None and (clock["last_day"] is None or clock["last_day"] >= before):
            state.clock = clock
        state.phase = "current"
        self.move_floors(state)
        self.remember_pass(state)

    def try_full(self, state, standard):
        if not self.hold(standard.get("needs") or [], standard, state, state.full_floor, full=True):
            return
        valid = standard.get("first_valid_for") or standard.get("valid_for")
        state.wait = {
            "standard": standard,
            "on": self.today,
            "at": self.at,
            "passes": [p for p in state.passes if p["at"] > state.full_floor and p["full"]],
            "clock": end_of(self.today, duration(valid), standard),
        }
        state.phase = "awaiting"
        self.remember_pass(state)
        self.try_signatures(state)

    def try_signatures(self, state):
        if state.phase != "awaiting":
            return
        wait = state.wait
        given = {s["by"] for s in state.signatures if day(s["on"]) >= wait["on"]}
        if not set(wait["standard"].get("signatures") or []) <= given:
            return
        needs = wait["standard"]["needs"]
        failures = [f for f in state.failures if f["at"] <= wait["at"]]
        state.rechecks = [
            r
            for r in state.rechecks
            if not needs_hold(needs, wait["standard"], self.watched(r, wait["passes"]), failures)
        ]
        self.become_current(state, wait["clock"])

    # ---- gates and standings ----

    def required(self, skill):
        return self.family.required(skill, self.today, self.facts)

    def on_hold(self, skill):
        return any(
            h.get("skill") in (None, skill) and covers({"from": h["on"], "through": h.get("through")}, self.today)
            for h in self.holds
        )

    def signed_off(self, skill):
        state = self.state[skill]
        edition = self.edition(skill)
        return (
            state.phase == "current"
            and not any(r["open"] for r in state.rechecks)
            and self.family.authorised(skill, self.today)
            and not self.on_hold(skill)
            and all(
                r.get("only_to_learn") or not self.required(r["skill"]) or self.signed_off(r["skill"])
                for r in (edition or {}).get("requires") or []
            )
        )

    def gate_open(self, skill):
        """The gate at this moment; with no edition in force it is closed."""
        edition = self.edition(skill)
        return edition is not None and all(
            not self.required(r["skill"])
            or (
                self.signed_off(r["skill"])
                and (
                    not r.get("within") or self.today <= add(self.state[r["skill"]].latest["on"], duration(r["within"]))
                )
            )
            for r in edition.get("requires") or []
        )

    def gate_for(self, skill, attempt):
        if attempt.get("began"):
            return self.gate_at_end.get((day(attempt["began"]), skill), False)
        return self.gate_open(skill)

    def end_of_day(self):
        answers = {}
        for skill, state in self.state.items():
            required = self.required(skill)
            self.gate_at_end[(self.today, skill)] = gate = self.gate_open(skill)
            clock = state.clock if state.phase in ("current", "lapsed") else None
            in_grace = state.phase == "lapsed" and self.today <= grace_end(clock, self.standard(skill))
            answers[skill] = {
                "standing": self.standing(skill, state, required),
                "last_day": clock["last_day"] if clock else None,
                "may_practise": required
                and self.family.authorised(skill, self.today)
                and not self.on_hold(skill)
                and (gate or state.phase == "current" or in_grace),
                "required": required,
            }
        return answers

    def standing(self, skill, state, required):
        if self.family.first_plan_day is None or self.today < self.family.first_plan_day:
            return None
        if not required:
            return "not_required"
        if state.phase == "current":
            return "signed_off" if self.signed_off(skill) else "held"
        if state.phase == "learning":
            return "in_training" if state.attempted else "not_started"
        return state.phase
