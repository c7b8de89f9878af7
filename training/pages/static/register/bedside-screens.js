// One recording on the device: which question comes next, and what each screen shows. What was ticked is kept as it
// was ticked; what it amounts to is the register's to say, after it has arrived.
"use strict";

bedside.screens = (() => {
  const { word } = bedside;
  const UNMEASURED = ["not_seen", "not_applicable"];

  // By the family's own clock: [2026-05-14, 10:12:40].
  const momentIn = (zone) => {
    const parts = new Intl.DateTimeFormat("en-CA", {
      timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit",
      hour: "2-digit", minute: "2-digit", second: "2-digit",
    }).formatToParts(new Date());
    const of = Object.fromEntries(parts.map(({ type, value }) => [type, value]));
    return [`${of.year}-${of.month}-${of.day}`, `${of.hour}:${of.minute}:${of.second}`];
  };
  const clockTime = (at) => new Date(at).toLocaleTimeString(document.documentElement.lang, {
    hour: "2-digit", minute: "2-digit", hourCycle: "h23",
  });
  // 14 May, 10:12.
  const written = (on, time) => {
    const month = new Date(`${on}T12:00:00`).toLocaleDateString(document.documentElement.lang, { month: "long" });
    return `${Number(on.slice(8))} ${month}, ${time.slice(0, 5)}`;
  };

  const begin = (pack, person, code, chosen) => {
    const skill = pack.skills[code];
    const [on, time] = momentIn(pack.zone);
    const who = person.called;
    return {
      intent: crypto.randomUUID(),
      author: pack.author,
      family: pack.family,
      caregiver: person.id,
      started: Date.now(),
      kept_at: Date.now(),
      form: {
        who, patient: pack.patient, is_patient: person.is_patient, title: skill.title, edition: skill.edition,
        steps: skill.steps.filter((step) => !step.roles || step.roles.includes(chosen.role)),
        last: person.skills[code].last,
      },
      label: { title: skill.title, who: person.is_patient ? who : `${who} · ${pack.patient}`, when: written(on, time) },
      data: { ...chosen, on, time, skill: code, edition: skill.edition, results: {}, stopped: null },
      typed: {},
      clock: null,
      at: { screen: "", code: "" },
      is_ready: false,
      tried: false,
    };
  };

  const oneByOne = (draft) => draft.form.steps.filter((step) => step.critical || step.unit);
  const rest = (draft) => draft.form.steps.filter((step) => !(step.critical || step.unit));
  const stepOf = (draft, code) => draft.form.steps.find((step) => step.code === code);
  const resultOf = (draft, code) => {
    const seen = draft.data.results[code];
    return seen && typeof seen === "object" ? seen.result : seen ?? "";
  };

  const answer = (draft, code, result) => {
    const step = stepOf(draft, code);
    const value = (draft.typed[code] ?? "").trim();
    const measured = step.unit && value && !UNMEASURED.includes(result);
    draft.data.results[code] = measured ? { result, value } : result;
  };
  const isNumber = (text) => /^[-−]?\d{1,6}([.,]\d{1,2})?$/.test(text.trim());
  // What keeps an answer from being taken down: never more than that its number is missing or none.
  const problemWith = (draft, code, result) => {
    const step = stepOf(draft, code);
    const value = draft.typed[code] ?? "";
    if (!step.unit || UNMEASURED.includes(result)) return "";
    if (value && !isNumber(value)) return word("no-number");
    return !value && result === "independent" ? word("needs-number") : "";
  };

  // The first question without an answer, one by one, then the list, then the words.
  const goOn = (draft) => {
    const next = oneByOne(draft).find((step) => !resultOf(draft, step.code));
    const list = rest(draft);
    if (next) draft.at = { screen: "step", code: next.code };
    else if (list.some((step) => !resultOf(draft, step.code)) || (list.length && !draft.data.stopped)) draft.at = { screen: "rest", code: "" };
    else draft.at = { screen: "words", code: "" };
  };
  const goBack = (draft) => {
    const { screen, code } = draft.at;
    const asked = oneByOne(draft);
    const place = asked.findIndex((step) => step.code === code);
    const list = rest(draft);
    if (screen === "seen") draft.at = { screen: "step", code };
    else if (screen === "one") draft.at = { screen: "rest", code: "" };
    else if (screen === "words" && list.length) draft.at = { screen: "rest", code: "" };
    else if (screen === "step" && place > 0) draft.at = { screen: "step", code: asked[place - 1].code };
    else if (screen !== "step" && asked.length) draft.at = { screen: "step", code: asked.at(-1).code };
    else return false;
    return true;
  };
  // The step under way and those after it were not seen, unless they have a result already.
  const stop = (draft, whose) => {
    const codes = draft.form.steps.map((step) => step.code);
    const first = Math.max(codes.indexOf(draft.stop_from?.code ?? ""), 0);
    draft.data.stopped = whose;
    draft.data.stop = { by: "observer", why: draft.data.stop?.why ?? "" };
    for (const code of codes.slice(first)) draft.data.results[code] ??= "not_seen";
  };

  // What a screen shows ------------------------------------------------------------------------------------

  const shown = (draft, step, n) => {
    const result = resultOf(draft, step.code);
    const trouble = draft.form.last?.troubles.find((t) => t.code === step.code && t.text === step.text);
    return {
      ...step, n, shown: result || "none", word: word(result || "none"),
      trouble: Boolean(trouble), trouble_word: trouble?.word ?? "", trouble_value: trouble?.value ?? "",
    };
  };
  const marks = (draft) => oneByOne(draft).map((step, n) => ({
    ...shown(draft, step, n + 1), now: draft.at.screen === "step" && draft.at.code === step.code,
  }));

  const ofStep = (draft, code) => {
    const step = stepOf(draft, code);
    const place = oneByOne(draft).indexOf(step) + 1;
    const result = resultOf(draft, code);
    const runs = draft.clock?.code === code;
    const value = draft.typed[code] ?? "";
    const pressed = Object.fromEntries(
      ["independent", "prompted", "assisted", "omitted", "not_seen", "not_applicable"].map((r) => [`is_${r}`, String(r === result)]),
    );
    return {
      ...shown(draft, step), ...pressed, place, of: place ? oneByOne(draft).length : 0, value, not_seen: result === "not_seen",
      is_timed: step.unit === "s", is_running: runs, may_start: !runs && !value, may_restart: !runs && Boolean(value),
      since: runs ? draft.clock.at : "", clock: runs ? ((Date.now() - draft.clock.at) / 1000).toFixed(1) : value || "0.0",
    };
  };
  const ofWords = (draft) => {
    const { data } = draft;
    const troubled = draft.form.steps.map((step) => shown(draft, step))
      .filter((step) => !["independent", "not_applicable"].includes(step.shown));
    return {
      troubled, has_troubled: troubled.length > 0 || Boolean(data.stopped),
      line: data.reteach?.line, line_on: data.reteach?.on, teach_back: data.teach_back, note: data.note,
      language: data.interpreter?.language, on: data.on, time: data.time,
      [`interpreter_${data.interpreter?.kind}`]: "true", feels_ready: String(data.feels === "ready"), feels_not_yet: String(data.feels === "not_yet"),
    };
  };
  const answered = (draft) => draft.form.steps.filter((step) => resultOf(draft, step.code)).length;

  const values = (draft, problem = "") => {
    const { form, data, at } = draft;
    return {
      who: form.who, patient: form.patient, is_patient: form.is_patient, title: form.title, edition: form.edition,
      purpose: word(data.purpose), kept: clockTime(draft.kept_at), problem, tried: draft.tried, answered: answered(draft),
      last_on: form.last?.on, line: form.last?.line, marks: marks(draft), has_marks: oneByOne(draft).length > 0,
      rows: rest(draft).map((step) => shown(draft, step)), has_missing: rest(draft).some((step) => !resultOf(draft, step.code)),
      stopped: data.stopped, for_patient: data.stopped === "patient", for_caregiver: data.stopped === "caregiver", why: data.stop?.why,
      ...(at.code && stepOf(draft, at.code) ? ofStep(draft, at.code) : {}),
      ...(at.screen === "words" ? ofWords(draft) : {}),
    };
  };

  return { momentIn, clockTime, begin, oneByOne, rest, stepOf, resultOf, answer, problemWith, goOn, goBack, stop, answered, values };
})();
