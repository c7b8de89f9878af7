"""Made-up, valid cases of section 5, rich in everything of section 4, and a helper that makes one smaller."""

from __future__ import annotations

from datetime import date, timedelta

from .pieces import day, facts_at, instant, known, month_end, steps_of
from .shrink import smaller

__all__ = ["make_case", "smaller"]

SIZES = {
    # skills, caregivers, attempts of one caregiver
    "tiny": ((1, 2), (1, 1), (6, 14)),
    "dense": ((1, 2), (1, 1), (25, 45)),
    "small": ((2, 3), (1, 2), (14, 30)),
    "large": ((3, 4), (2, 3), (25, 50)),
}
FACTS = {
    "cuff": ["none", "air", "water"],
    "tube_id_mm": [4.0, 4.5, 5.0],
    "ventilator": [True, False],
    "inner": [True, False],
    "most_s": [8, 12.5, 20],
    "least_s": [3, 6],
}
PLACES = ["hospital", "home", "school", "out"]
OBSERVERS = [*["rn1"] * 9, *["rn2"] * 5, "rn3", "rn4"]
VALID = ["P10D", "P20D", "P30D", "P1M", "P1M", "P2M", "P3M", "P6M"]
SHORT = ["P3D", "P7D", "P10D", "P14D", "P1M"]
# What a case may have more of than others, so that its parts meet often.
THEMES = ("renewal", "change", "signatures", "editions", "deeds", "filters", "failures", "gates")
WORDS = ["prompted", "assisted", "omitted", "not_seen"]


class Maker:
    """Throws the dice for one case; ``rng`` is the only source of chance."""

    def __init__(self, rng, size):
        self.rng = rng
        self.size = SIZES[size]
        self.base = date(rng.choice([2023, 2024]), rng.choice([1, 3, 8, 10, 11, 12]), rng.choice([1, 10, 28]))
        self.themes = {t for t in THEMES if rng.random() < (0.6 if size == "dense" else 0.45)}
        self.length = rng.choice([120, 200, 300, 420])
        self.count = 0
        self.sequence = 0
        self.gaps = [0, 0, 1, 1, 2, 4, 7, *self.any([[], [2, 3], [9, 14, 30], [14, 30, 50]])]
        self.case = {}

    # ---- small dice ----

    def maybe(self, share):
        return self.rng.random() < share

    def more(self, theme, share, else_share):
        return self.maybe(share if theme in self.themes else else_share)

    def any(self, values):
        return self.rng.choice(values)

    def between(self, bounds):
        return self.rng.randint(*bounds)

    def some(self, values, least=1):
        picked = self.rng.sample(values, self.rng.randint(least, len(values)))
        return [v for v in values if v in picked]

    def id(self, letter):
        self.count += 1
        # ids do not run in the order of writing, so that ties on a moment are broken either way
        return f"{letter}{self.rng.randint(10, 99)}{self.count:03}"

    def on(self, least=0, most=None):
        """A day of the period; often the last of a month."""
        d = self.base + timedelta(days=self.rng.randint(least, self.length if most is None else most))
        return month_end(d) if self.maybe(0.15) else d

    def recorded(self, on, late=0.15):
        """An instant on the evening of ``on``, or long after; no two alike."""
        self.sequence += 1
        days = self.rng.randint(1, 70) if self.maybe(late) else 0
        second = self.sequence % 3600
        return (
            f"{(on + timedelta(days=days)).isoformat()}T2{self.rng.randint(0, 3)}:{second // 60:02}:{second % 60:02}Z"
        )

    def after(self, text, most=40):
        """An instant later than the one written."""
        later = timedelta(days=self.rng.randint(0, most), seconds=self.rng.randint(1, 40000))
        return f"{instant(text) + later:%Y-%m-%dT%H:%M:%SZ}"

    def time(self):
        return self.any(["08:00", "09:30", "10:00", "10:00", "12:15", "15:00", "18:45"])

    # ---- the programme ----

    def condition(self, share):
        if not self.maybe(share):
            return {}
        name = self.any(sorted(FACTS))
        condition = {name: self.some(FACTS[name])}
        if self.maybe(0.15):
            other = self.any(sorted(set(FACTS) - {name}))
            condition[other] = self.some(FACTS[other])
        return {"applies_when": condition}

    def need(self, first):
        need = {}
        if self.maybe(0.7) or first:
            need["passes"] = self.any([1, 1, 1, 2, 2, 3])
        for name, values, share in (
            ("setting", ["patient", "simulation", "model"], 0.45),
            ("role", ["lead", "assist"], 0.3),
            ("mode", ["in_person", "remote"], 0.15),
            ("place", PLACES, 0.2),
        ):
            if self.more("filters", share, share / 3):
                need[name] = [values[0]] if self.maybe(0.6) else self.some(values)
        passes = need.get("passes", 1)
        if passes > 1:
            for name in ("days", "observers", "places"):
                if self.maybe(0.2):
                    need[name] = self.rng.randint(1, 2)
            if self.maybe(0.3):
                need["within"] = self.any(SHORT)
        return need

    def standard(self):
        standard = {"needs": [self.need(n == 0) for n in range(self.any([1, 1, 1, 1, 2, 3]))]}
        if self.maybe(0.7):
            standard["after_failure"] = self.any(["restart", "keep"])
        if self.maybe(0.8):
            standard["pass_mark"] = self.any([50, 60, 66, 67, 75, 80, 100])
        if self.maybe(0.85):
            standard["valid_for"] = self.any(VALID)
            if self.maybe(0.3):
                standard["first_valid_for"] = self.any(VALID)
            if self.maybe(0.35):
                standard["valid_to"] = self.any(["day", "month_end", "month_end"])
            if self.maybe(0.6):
                standard["grace"] = self.any(["P5D", "P15D", "P1M", "P1M", "P2M"])
        if self.more("renewal", 0.9, 0.25):
            standard["renewal"] = [self.need("renewal" in self.themes) for _ in range(self.any([1, 1, 2]))]
        if self.more("signatures", 0.9, 0.15):
            standard["signatures"] = self.any([["caregiver"], ["educator"], ["caregiver", "educator"]])
        return standard

    def next_standard(self, editions):
        """A later edition mostly changes little of the standard before it."""
        if not editions or self.maybe(0.3):
            return self.standard()
        before, new = editions[-1]["standard"], self.standard()
        return {k: self.any([before, before, new]).get(k, before[k]) for k in before}

    def step(self, code):
        step = {"code": code}
        if self.maybe(0.35):
            step["critical"] = True
        elif self.maybe(0.4):
            step["may_skip"] = True
        if self.maybe(0.25):
            limits = self.any([{"high": 15}, {"low": 5}, {"low": 5, "high": 15}])
            step["measure"] = {"unit": "s", **limits}
            if self.maybe(0.4):
                step["measure"]["order"] = self.any(
                    [{"high": "most_s"}, {"low": "least_s"}, {"high": "most_s", "low": "least_s"}]
                )
        if self.maybe(0.25):
            step["roles"] = self.any([["lead"], ["assist"], ["lead", "assist"]])
        step.update(self.condition(0.25))
        return step

    def editions(self, before, certificate):
        """1-3 editions of one skill; ``before``: the skills it may require."""
        editions = []
        first = self.base - timedelta(days=self.rng.randint(0, 40))
        for number in range(1, self.any([2, 3, 3] if "editions" in self.themes else [1, 1, 2]) + 1):
            published = (first - timedelta(days=self.rng.randint(1, 30))).isoformat()
            edition = {
                "edition": number,
                "in_force_from": first.isoformat(),
                "recorded_at": f"{published}T1{number}:00:00Z",
                "older_sign_offs": self.any(
                    ["stand", "recheck", {"recheck_by": (first + timedelta(days=self.rng.randint(1, 40))).isoformat()}]
                ),
            }
            if self.maybe(0.2):
                edition.update(self.condition(1))
            if self.maybe(0.25):
                edition["needs_authorisation"] = True
            edition["requires"] = [self.prerequisite(code) for code in before if self.more("gates", 0.8, 0.25)]
            if self.more("change", 0.95, 0.4):
                effects = ["recheck", {"recheck_by": self.any(SHORT)}, "restart"]
                edition["on_change"] = {name: self.any(effects) for name in self.some(sorted(FACTS)) if self.maybe(0.7)}
            edition["standard"] = {"evidence": "certificate"} if certificate else self.next_standard(editions)
            if not certificate:
                edition["steps"] = [self.step(code) for code in "abcdef"[: self.rng.randint(2, 6)]]
            editions.append(edition)
            first += timedelta(days=self.rng.randint(20, max(40, self.length // 2)))
        return editions

    def prerequisite(self, code):
        prerequisite = {"skill": code}
        if self.maybe(0.3):
            prerequisite["within"] = self.any(SHORT + VALID)
        if self.maybe(0.3):
            prerequisite["only_to_learn"] = True
        return prerequisite

    def rules(self, codes, most):
        versions = []
        first = self.base - timedelta(days=self.rng.randint(-20, 30))
        for _ in range(self.any([1, 1, 2])):
            sets = {name: self.some(codes) for name in self.some(["full", "daytime"])}
            rules = {
                "in_force_from": first.isoformat(),
                "recorded_at": self.recorded(first - timedelta(days=5), late=0),
                "sets": sets,
                "team": [self.alternative(f"way {n}", sorted(sets), most) for n in range(self.any([0, 1, 1, 1, 2, 2]))],
                "items": [
                    {"code": code, **({"valid_for": self.any(VALID)} if self.maybe(0.5) else {})}
                    for code in ("kit", "trial")
                    if self.maybe(0.35)
                ],
            }
            versions.append(rules)
            first += timedelta(days=self.rng.randint(30, 150))
        return versions

    def alternative(self, name, sets, most):
        people = []
        for _ in range(self.any([1, 1, 2]) if most > 1 else 1):
            asks = {"set": self.any(sets), "count": self.any([1, 1, 2]) if most > 1 else 1}
            if self.maybe(0.3):
                asks["minimum_age"] = self.any([16, 18])
            people.append(asks)
        return {
            "name": name,
            "people": people,
            **({"patient_alone": self.any([True, True, False])} if self.maybe(0.35) else {}),
        }

    # ---- the family ----

    def qualifications(self):
        rows = []

        def add(observer, skill, start, through):
            rows.append(
                {
                    "id": self.id("q"),
                    "observer": observer,
                    "skill": skill,
                    "from": start.isoformat(),
                    "through": through and through.isoformat(),
                    "recorded_at": self.recorded(start),
                }
            )

        early = self.base - timedelta(days=200)
        add("rn1", None, early, None)
        gap = self.on()
        add("rn2", None, early, gap)
        add("rn2", None, gap + timedelta(days=self.rng.randint(1, 40)), None)
        for code in self.codes:
            if self.maybe(0.5):
                start = self.on()
                add("rn3", code, start, max(start, self.on(self.length // 2)) if self.maybe(0.5) else None)
        return rows

    def care_plan(self):
        """Entries on different days; sometimes one is voided and written anew for the same day."""
        first = self.on(0, 8)
        days = sorted(
            {first} | {self.on(9) for _ in range(self.between((4, 10) if "change" in self.themes else (0, 3)))}
        )
        facts = {name: self.any(values) for name, values in FACTS.items()}
        entries, voids = [], []
        for n, d in enumerate(days):
            before = {**facts}
            for name in self.some(sorted(FACTS), 0 if n == 0 else 1)[:2]:
                facts[name] = self.any(FACTS[name])
            entry = self.care_plan_entry(d, facts, late=0.05 if n == 0 else 0.2)
            entries.append(entry)
            if self.maybe(0.08):
                void = self.void(entry)
                voids.append(void)
                if self.maybe(0.7):
                    again = self.care_plan_entry(d, {**facts, "cuff": self.any(FACTS["cuff"])}, late=0)
                    again["recorded_at"] = self.after(void["recorded_at"], most=5)
                    entries.append(again)
            if self.maybe(0.5):  # the next entry tends to put back what was
                facts = before
        return entries, voids

    def care_plan_entry(self, d, facts, late):
        entry = {"id": self.id("p"), "on": d.isoformat()}
        if self.maybe(0.8):
            entry["time"] = self.time() if self.maybe(0.5) else None
        entry["facts"] = {name: value for name, value in facts.items() if self.maybe(0.88)}
        return {**entry, "recorded_at": self.recorded(d, late)}

    def void(self, record):
        return {
            "id": self.id("v"),
            "record": record["id"],
            "reason": "written by mistake",
            "recorded_at": self.after(record["recorded_at"]),
        }

    def authorisations(self):
        rows = []
        for code in self.codes:
            start = self.base - timedelta(days=self.rng.randint(0, 20))
            for _ in range(self.any([1, 1, 2])):
                through = start + timedelta(days=self.rng.randint(20, 200)) if self.maybe(0.45) else None
                rows.append(
                    {
                        "id": self.id("a"),
                        "skill": code,
                        "from": start.isoformat(),
                        "through": through and through.isoformat(),
                        "recorded_at": self.recorded(start),
                    }
                )
                start = (through or start) + timedelta(days=self.rng.randint(1, 40))
        return rows

    def item_codes(self):
        """The items of the programme; a record of any other is refused."""
        return sorted({item["code"] for rules in self.case["programme"]["rules"] for item in rules["items"]})

    def items(self):
        codes = self.item_codes()
        days = [self.on() for _ in range(self.any([0, 1, 2, 4]))] if codes else []
        return [
            {
                "id": self.id("i"),
                "item": self.any(codes),
                "on": d.isoformat(),
                "recorded_at": self.recorded(d),
            }
            for d in days
        ]

    def exceptions(self):
        rows = []
        missing = ["team", "team", *(f"item:{code}" for code in self.item_codes()), "fact:cuff", "fact:inner"]
        for d in [self.on() for _ in range(self.any([0, 1, 2, 5]))]:
            rows.append(
                {
                    "id": self.id("x"),
                    "missing": self.any(missing),
                    "from": d.isoformat(),
                    "through": (d + timedelta(days=self.rng.randint(0, 90))).isoformat(),
                    "by": "s1",
                    "reason": "seen and accepted",
                    "recorded_at": self.recorded(d),
                }
            )
        return rows

    # ---- one caregiver ----

    def caregiver(self, name, n_attempts):
        born = (
            None
            if self.maybe(0.15)
            else self.any(
                ["1990-05-01", "1960-02-29", "2006-02-28", f"{self.base.year - 18}-0{self.rng.randint(1, 9)}-15"]
            )
        )
        start = self.on() if self.maybe(0.15) else None
        end = self.on(self.length // 2) if self.maybe(0.15) else None
        if start and end and end < start:
            end = None
        self.favourite = self.any(self.codes)
        records = []
        on = self.first_day + timedelta(days=self.rng.randint(0, 5))
        last = self.base + timedelta(days=self.length)
        while n_attempts and on <= last:
            n_attempts -= 1
            records += self.sitting(on)
            on += timedelta(days=self.any(self.gaps))
            on = month_end(on) if self.maybe(0.1) else on
        records += self.other_records()
        self.rng.shuffle(records)
        names = sorted({name for rules in self.case["programme"]["rules"] for name in rules["sets"]})
        return {
            "id": name,
            "born": born,
            "is_patient": name == "ana" and self.maybe(0.35),
            "from": start and start.isoformat(),
            "through": end and end.isoformat(),
            "sets": self.some(names, 0 if self.maybe(0.2) else 1),
            "records": records,
        }

    def skill(self):
        """Mostly the same one, so that much happens to it."""
        return self.by_code[self.favourite if self.maybe(0.5) else self.any(self.codes)]

    def sitting(self, on):
        """One attempt, with the signatures, overrides and resolutions that go with it; or a certificate."""
        skill = self.skill()
        if "steps" not in skill["editions"][0]:
            return [] if self.maybe(0.4) else [self.certificate(skill["code"], on)]
        attempt = self.attempt(skill, on)
        if attempt is None:
            return []
        records = [attempt]
        if any(e["standard"].get("signatures") for e in skill["editions"]) and self.maybe(0.4):
            for by in self.some(["caregiver", "educator"]):
                records.append(
                    self.dated("signature", on + timedelta(days=self.any([0, 0, 0, 1, 3, 20])), skill["code"], by=by)
                )
        if attempt["second"] and self.maybe(0.6):
            for _ in range(self.any([1, 1, 2])):
                records.append(self.about("resolution", attempt, take=self.any(["lead", "second"])))
        if self.maybe(0.08):
            records.append(self.about("override", attempt, reason="clinically sound"))
        return records

    def about(self, kind, attempt, **fields):
        return {
            "kind": kind,
            "id": self.id("r"),
            "record": attempt["id"],
            **fields,
            "recorded_at": self.after(attempt["recorded_at"], most=20),
        }

    def dated(self, kind, on, skill, **fields):
        record = {"kind": kind, "id": self.id("r"), "skill": skill, "on": on.isoformat(), **fields}
        if self.maybe(0.6):
            record["time"] = self.time() if self.maybe(0.6) else None
        return {**record, "recorded_at": self.recorded(on)}

    def certificate(self, skill, on):
        return self.dated("certificate", on, skill, through=(on + timedelta(days=self.rng.randint(0, 120))).isoformat())

    def other_records(self):
        records = []
        for _ in range(self.between((4, 9) if "deeds" in self.themes else (0, 2))):
            kind = self.any(
                ["hold", "recheck", "recheck", "recheck", "withdrawal", "withdrawal", "accepted", "signature"]
            )
            on = self.on(10)
            skill = self.skill()["code"]
            certificate = "steps" not in self.by_code[skill]["editions"][0]
            if kind == "hold":
                through = (on + timedelta(days=self.rng.randint(0, 40))).isoformat() if self.maybe(0.85) else None
                which = skill if self.maybe(0.6) else None
                records.append(self.dated("hold", on, which, through=through, reason="broken wrist"))
            elif kind == "recheck":
                records.append(self.dated("recheck", on, skill if self.maybe(0.7) else None, reason="an incident"))
            elif kind == "withdrawal":
                records.append(self.dated("withdrawal", on, skill, reason="unsafe", cover="the agency"))
            elif kind == "accepted" and not certificate:
                last = (on + timedelta(days=self.rng.randint(0, 150))).isoformat()
                records.append(self.dated("accepted", on, skill, last_day=last, organisation="elsewhere"))
            elif kind == "signature" and not certificate:
                records.append(self.dated("signature", on, skill, by=self.any(["caregiver", "educator"])))
        return records

    def attempt(self, skill, on):
        """A valid attempt on ``on`` or None: its steps are those known when it was recorded."""
        in_force = [e for e in skill["editions"] if day(e["in_force_from"]) <= on]
        recorded_at = self.recorded(on, late=0.12)
        plan = known(self.case, self.case["care_plan"], instant(recorded_at))
        first = min((day(e["on"]) for e in plan), default=None)
        if not in_force or first is None or on < first:
            return None
        edition = in_force[-1] if self.maybe(0.8) else self.any(in_force)
        need = self.any(edition["standard"]["needs"] + edition["standard"].get("renewal", []))
        time = self.time()
        attempt = {
            "kind": "demonstration",
            "id": self.id("d"),
            "purpose": "assessment" if self.maybe(0.94) else "practice",
            "on": on.isoformat(),
            "time": time,
            "skill": skill["code"],
            "edition": edition["edition"],
            "setting": self.fitting(need, "setting", ["patient", "patient", "patient", "simulation", "model"]),
            "role": self.fitting(need, "role", ["lead", "lead", "assist"]),
            "mode": self.fitting(need, "mode", ["in_person", "in_person", "remote"]),
            "place": self.fitting(need, "place", PLACES),
            "observers": self.observers(),
        }
        facts = facts_at(plan, on, time)
        if facts is None:  # the plan's first entry is later on this very day
            attempt["time"] = time = "23:00"
            facts = facts_at(plan, on, time)
        steps = steps_of(edition, attempt["role"], facts)
        tones = ["good"] * (6 if "failures" in self.themes else 25) + ["mixed", "mixed", "bad", "bad", "unseen"]
        tone = self.any(tones)
        stopped = self.any(["patient", "caregiver"]) if self.maybe(0.05) and steps else None
        under_way = self.rng.randrange(len(steps)) if stopped else len(steps)
        attempt["results"] = self.results(steps, tone, under_way)
        attempt["second"] = None
        if self.maybe(0.15):
            other = self.any(sorted({"rn1", "rn2", "rn3", "rn4"} - set(attempt["observers"])))
            tone = tone if self.maybe(0.5) else self.any(["good", "mixed", "bad"])
            attempt["second"] = {"observer": other, "results": self.results(steps, tone, under_way)}
        attempt["stopped"] = stopped
        earliest = max(first, day(edition["in_force_from"]))
        began = on - timedelta(days=self.rng.randint(1, 4))
        attempt["began"] = began.isoformat() if self.more("gates", 0.3, 0.1) and began >= earliest else None
        attempt["recorded_at"] = recorded_at
        return attempt

    def fitting(self, need, name, values):
        return self.any(need[name]) if name in need and self.maybe(0.75) else self.any(values)

    def observers(self):
        lead = self.any(OBSERVERS)
        return [lead] if self.maybe(0.85) else [lead, self.any(sorted({"rn1", "rn2", "rn3"} - {lead}))]

    def results(self, steps, tone, under_way):
        results = {}
        for n, step in enumerate(steps):
            if n >= under_way:
                results[step["code"]] = "not_seen"
                continue
            word = "independent"
            if step.get("may_skip") and self.maybe(0.2):
                word = "not_applicable"
            elif tone == "bad" and self.maybe(0.6):
                word = self.any(WORDS[:3])
            elif tone == "mixed" and not step.get("critical") and self.maybe(0.5):
                word = self.any(WORDS)
            elif tone == "unseen" and self.maybe(0.5):
                word = "not_seen"
            results[step["code"]] = self.measured(step, word)
        return results

    def measured(self, step, word):
        if "measure" not in step or word in ("not_applicable", "not_seen"):
            return word
        if word != "independent" and self.maybe(0.5):
            return word
        low, high = step["measure"].get("low", 2), step["measure"].get("high", 18)
        value = self.any([low, high, (low + high) / 2]) if self.maybe(0.92) else self.any([low - 0.5, high + 0.5])
        return {"result": word, "value": value}

    # ---- the whole ----

    def make(self):
        n_skills, n_people = self.between(self.size[0]), self.between(self.size[1])
        self.codes = ["suction", "tube", "ties", "stoma"][:n_skills]
        card = self.any(self.codes) if n_skills > 1 and self.maybe(0.35) else None
        skills = [
            {"code": code, "editions": self.editions(self.codes[:n], code == card)} for n, code in enumerate(self.codes)
        ]
        self.by_code = {s["code"]: s for s in skills}
        self.rng.shuffle(skills)
        case = self.case
        case["programme"] = {"code": "made up", "skills": skills, "rules": self.rules(self.codes, n_people)}
        case["qualifications"] = self.qualifications()
        case["care_plan"], case["voids"] = self.care_plan()
        self.first_day = min(day(e["on"]) for e in case["care_plan"])
        case["authorisations"] = self.authorisations()
        case["items"] = self.items()
        case["exceptions"] = self.exceptions()
        case["caregivers"] = [
            self.caregiver(name, self.between(self.size[2])) for name in ("ana", "ben", "cleo")[:n_people]
        ]
        self.add_voids()
        dates = [r["on"] for c in case["caregivers"] for r in c["records"] if "on" in r]
        on = self.base + timedelta(days=self.rng.randint(-5, self.length + 60))
        if dates and self.maybe(0.6):
            on = day(self.any(dates)) + timedelta(days=self.any([0, 0, 1, 5, 20, 35, 65]))
        case["on"] = on.isoformat()
        case["known_at"] = self.recorded(self.on(), late=0) if self.maybe(0.3) else None
        case["caregivers"].sort(key=lambda c: c["id"])
        return case

    def add_voids(self):
        """Void some more of every kind; the care plan's were thrown before the attempts were scored."""
        case = self.case
        groups = [case[g] for g in ("qualifications", "authorisations", "items", "exceptions")]
        own = [c["records"] for c in case["caregivers"]]
        for _ in range(self.any([0, 0, 1, 2, 4])):
            rows = self.any([*groups, *own, *own, *own])
            if rows:
                case["voids"].append(self.void(self.any(rows)))


def make_case(rng, size="small"):
    """Return a valid case; ``size`` is tiny, small, large, or dense: much happens to few skills of one person."""
    return Maker(rng, size).make()
