// What waits in this browser until the register has it: whose it is, in which order it goes, and what was
// refused meanwhile, shown line by line. When it is sent stands in bench.js.
"use strict";

const everything = () =>
  kept
    .all(WAITS)
    .map(kept.read)
    .filter(Boolean)
    .sort((a, b) => a.at - b.at);
// What was sent and not answered yet, the oldest first; only its own person sends it.
const waiting = () => everything().filter((one) => one.person === person && !one.refused);
// Later than all that waits, also where the tablet's clock was set back.
const inTurn = () => Math.max(Date.now(), ...everything().map((one) => one.at + 1));

const short = (words) => (words.length > 60 ? `${words.slice(0, 59).trim()}\u2026` : words);
const clock = (at) => new Date(at).toTimeString().slice(0, 5);
const named = (one) => `\u201c${one.what}\u201d${one.sheet ? `, ${one.sheet.split("/")[0]}` : ""}`;
const told = (one) => `${named(one)}${one.words ? `, \u201c${one.words}\u201d` : ""}, entered at ${clock(one.at)}`;

// A form that only adds takes one entry after the other, each with a key of its own.
const addsOnly = (form) => form.dataset.spare !== undefined;

/** What a form that only adds is emptied to for its next entry; false where the page has no key left. */
const nextEntry = (form) => {
  const [next, ...others] = form.dataset.spare.split(" ");
  form.dataset.spare = others.join(" ");
  for (const field of form.elements) {
    if (field.type === "file" || field.type === "text" || field.tagName === "TEXTAREA") field.value = "";
  }
  delete form.dataset.full;
  if (!next) return false;
  form.elements.key.value = next;
  return true;
};

// What can be mended in its form, which says what is wrong with it; anything else is refused for good.
const mended = (answer) => [200, 400, 422].includes(answer.status);
/** Why an answer says no: the messages of its form, else the sentence of its page. */
const whyNot = (answer) => {
  const page = new DOMParser().parseFromString(answer.text, "text/html");
  const messages = [...page.querySelectorAll(".summary li")];
  const all = messages.length > 0 ? messages : [...page.querySelectorAll("main > .lead")];
  return all.map((one) => one.textContent.trim().replace(/\.?$/, ".")).join(" ") || `The register refused it (${answer.status}).`;
};
/** What was refused keeps its place among what waits, and stops nothing behind it. */
const refuse = (one, why, over = false) => {
  sending.delete(one.key);
  const refused = { ...one, refused: why, over };
  kept.write(WAITS + one.key, refused);
  showWaiting();
  return refused;
};

/** Whether somebody is about to fill in a form that only adds: is in one of its fields, over which a camera
    may be open, or has chosen or typed something. */
const busy = () =>
  forms()
    .filter(addsOnly)
    .some((form) => {
      const at = document.activeElement;
      const chosen = [...form.elements].some((field) => field.files?.length > 0);
      return chosen || kept.read(nameOf(form)) !== null || (form.contains(at) && at.tagName !== "BUTTON");
    });

const waitLine = (words, link) => {
  const made = document.createElement("li");
  made.textContent = words;
  if (link) {
    const way = document.createElement("a");
    way.href = link;
    way.textContent = "Open it";
    made.append(" ", way);
  }
  return made;
};

// What was left out can be put back for so long, and is gone from the page that is opened after that.
const UNDO = 10 * 60 * 1000;
const tidyLeft = () => {
  for (const one of everything()) {
    if (!one.left || Date.now() - one.left < UNDO) continue;
    kept.drop(WAITS + one.key);
    files.drop(WAITS + one.key);
  }
};
const leaveOut = (one) => changed({ ...one, left: Date.now() }, `Left out: ${told(one)}. For ten minutes it can be put back.`);
const keepAfterAll = (one) => changed({ ...one, left: undefined }, `Put back: ${told(one)}.`);
const changed = (one, words) => {
  // Another page may have put it back into its form meanwhile.
  if (kept.read(WAITS + one.key)) kept.write(WAITS + one.key, one);
  say(words, true);
  showWaiting();
  document.querySelector(`.queue [data-entry="${one.key}"] button`)?.focus();
};
const savePicture = async (one) => {
  const list = (await files.kept(WAITS + one.key)) ?? [];
  if (list.length === 0) say("The picture cannot be read in this browser now; load the page again.", true);
  for (const picture of list) {
    const way = document.createElement("a");
    way.href = URL.createObjectURL(picture.blob);
    way.download = picture.name || "photograph";
    way.click();
    setTimeout(() => URL.revokeObjectURL(way.href), 60000);
  }
};
const choice = (words, one, does) => {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "quiet";
  const which = document.createElement("span");
  which.className = "hidden";
  which.textContent = `: ${told(one)}`;
  made.append(words, which);
  made.addEventListener("click", () => does(one));
  return made;
};
/** An entry that was refused, with all that can still be done with it. */
const refusedLine = (one) => {
  const back = one.over ? "" : " It goes back into its form when you open that empty.";
  const made = one.left ? waitLine(`Left out: ${told(one)}.`) : waitLine(`Not saved: ${told(one)}. ${one.refused}${back}`, !one.over && one.page);
  made.dataset.entry = one.key;
  const typed = new Map(one.fields);
  const words = (typed.get("text") || typed.get("caption") || "").trim();
  if (!one.left && words && (!one.files || words !== one.words)) {
    const all = document.createElement("details");
    all.append(document.createElement("summary"), document.createElement("p"));
    all.firstChild.textContent = "All its words";
    all.lastChild.textContent = words;
    made.append(all);
  }
  const ways = document.createElement("p");
  ways.className = "actions";
  if (one.left) ways.append(choice("Put it back", one, keepAfterAll));
  else {
    if (one.files) ways.append(choice("Save the picture", one, savePicture));
    ways.append(choice("Leave it out", one, leaveOut));
  }
  made.append(ways);
  return made;
};
/** What somebody else typed is theirs; that it is here, and whose, is not. */
const othersLine = (one) => {
  const whose = one.who || "somebody else";
  const told = `${named(one)}, entered at ${clock(one.at)} by ${whose}`;
  const then = one.who || "that person";
  return waitLine(one.refused ? `${told}: not saved. What becomes of it is for ${then} to say, signed in here again.` : `${told}: not sent under your name. It is sent when ${then} signs in here again.`);
};

// What this page has shown as waiting, by key.
const listed = new Set();
/** Shows what waits, each entry with whose turn it is; nothing where nothing does. */
const showWaiting = () => {
  const all = everything();
  for (const one of waiting()) listed.add(one.key);
  document.querySelector(".queue")?.remove();
  const lines = waiting().map((one, i) => waitLine(`${i === 0 ? "To be sent next" : "Then"}: ${told(one)}.`));
  for (const one of all) {
    if (one.person === person && one.refused) lines.push(refusedLine(one));
    else if (one.person !== person && !one.left) lines.push(othersLine(one));
  }
  if (lines.length === 0) return;
  const place = document.createElement("section");
  place.className = "queue";
  place.setAttribute("aria-label", "What waits in this browser");
  const list = document.createElement("ul");
  list.append(...lines);
  place.append(list);
  const held = new Set(waiting().map((one) => one.form));
  if (forms().some((form) => !addsOnly(form) && held.has(nameOf(form)))) {
    const why = document.createElement("p");
    why.textContent = "This step takes its next entry once this one is saved: what a step records rests on what was recorded before it. Photographs and remarks only add; of those, several may wait.";
    place.append(why);
  }
  line().after(place);
};

/** Puts what was refused meanwhile back into its form, one at a time and only where that is empty. */
const putBack = async (form, before = "") => {
  const name = nameOf(form);
  const one = everything().find((other) => other.person === person && other.refused && !other.over && !other.left && other.form === name);
  if (!one || (await files.kept(name))?.length > 0 || kept.read(name) || form.inert) return;
  const free = shut(form);
  kept.write(name, { at: Date.now(), fields: one.fields });
  if (one.files) await files.rename(WAITS + one.key, name);
  kept.drop(WAITS + one.key);
  restore(form);
  await restoreFiles(form);
  free();
  showWaiting();
  say(`${before} Not saved: ${told(one)}. ${one.refused} It is back in this form.`.trim(), true);
};
