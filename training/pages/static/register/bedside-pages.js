// The screens about no recording: what is kept on this device, and the moment before the first step.
"use strict";

bedside.pages = (() => {
  const { store, paint, screens, word } = bedside;

  const isOld = (pack) => screens.momentIn(pack.zone)[0] !== pack.as_of;
  const shownSkill = (pack, [skill, about]) => ({
    skill, title: pack.skills[skill].title, has_last: Boolean(about.last), last_on: about.last?.on,
  });
  const shownPerson = (pack, person) => ({
    called: person.called, relation: person.relation, caregiver: person.id,
    skills: Object.entries(person.skills).map((pair) => shownSkill(pack, pair)),
  });
  const shownPack = (pack) => ({
    patient: pack.patient, family: pack.family, as_of_written: pack.as_of_written, is_old: isOld(pack),
    is_empty: !pack.caregivers.length, people: pack.caregivers.map((person) => shownPerson(pack, person)),
  });
  const shownDraft = (draft) => ({
    ...draft.label, intent: draft.intent, purpose: word(draft.data.purpose), is_ready: draft.is_ready, refused: draft.refused,
    may_change: !draft.tried, answered: screens.answered(draft), of: draft.form.steps.length,
  });
  const shownReceipt = ({ label, intent, receipt }) => ({
    ...label, intent, address: receipt.address, is_record: receipt.is_record, is_draft: !receipt.is_record,
  });

  // Painted again, the caregivers that stood open stay open.
  const list = async (author, about) => {
    const mine = (await store.of("drafts", author)).sort((a, b) => b.started - a.started);
    const packs = (await store.of("packs", author)).sort((a, b) => b.opened - a.opened);
    const others = await store.unsentByOthers(author);
    const unsent = mine.filter((draft) => !draft.receipt).map(shownDraft);
    const arrived = mine.filter((draft) => draft.receipt).map(shownReceipt);
    const open = [...document.querySelectorAll("details.b-person[open]")].map((one) => one.dataset.key);
    const again = document.getElementById("content").dataset.screen === "list";
    paint("list", {
      ...about, online: navigator.onLine, others, unsent, arrived, packs: packs.map(shownPack),
      has_unsent: unsent.length > 0, has_arrived: arrived.length > 0, has_packs: packs.length > 0,
    }, { again });
    for (const one of document.querySelectorAll("details.b-person")) one.open = open.includes(one.dataset.key);
  };

  const foundFor = async (author, family, caregiver, skill) => {
    const pack = await store.get("packs", `${author} ${family}`);
    const person = pack?.caregivers.find((one) => one.id === caregiver);
    return person?.skills[skill] ? { pack, person, about: person.skills[skill] } : null;
  };

  const options = (pairs, likely) => pairs.map(([code, text]) => ({ code, text, on: String(code === likely) }));
  const said = (texts) => texts.map((text) => ({ text }));
  const ofLast = (last) => (last ? {
    ...last, has_last: true, last_on: last.on,
    stopped_patient: last.stopped === "patient", stopped_caregiver: last.stopped === "caregiver",
  } : {});

  const start = ({ pack, person, about }, code, chosen = {}, problem = "") => {
    const skill = pack.skills[code];
    const likely = { ...about.likely, ...chosen };
    const spoken = (name) => pack.choices[name].find(([one]) => one === likely[name])[1];
    paint("start", {
      who: person.called, patient: pack.patient, is_patient: person.is_patient, title: skill.title, edition: skill.edition,
      as_of_written: pack.as_of_written, is_old: isOld(pack), problem, ...ofLast(about.last),
      settings: options(pack.choices.setting, likely.setting), roles: options(pack.choices.role, likely.role),
      modes: options(pack.choices.mode, likely.mode), places: options(pack.choices.place, likely.place),
      role_word: spoken("role"), mode_word: spoken("mode"), place_word: spoken("place"),
      warnings: said(about.warnings), gates: said(about.gates), has_gates: about.gates.length > 0,
      cautions: said(skill.cautions), has_cautions: skill.cautions.length > 0,
    });
  };

  return { isOld, list, foundFor, start };
})();
