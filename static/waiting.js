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

/** Whether somebody is about to fill in a form that only adds. */
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

/** Shows what waits, each entry with whose turn it is; nothing where nothing does. */
const showWaiting = () => {
  const all = everything();
  document.querySelector(".queue")?.remove();
  if (all.length === 0) return;
  const lines = waiting().map((one, i) => waitLine(`${i === 0 ? "To be sent next" : "Then"}: ${told(one)}.`));
  for (const one of all) {
    if (one.person !== person) {
      // What somebody else typed is theirs; that it is here, and whose, is not.
      lines.push(waitLine(`${named(one)}, entered at ${clock(one.at)} by ${one.who || "somebody else"}: not sent under your name. It is sent when ${one.who || "that person"} signs in here again.`));
    } else if (one.refused) {
      lines.push(waitLine(`Not saved: ${told(one)}. ${one.refused} It goes back into its form when you open that empty.`, one.page));
    }
  }
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
  const one = everything().find((other) => other.person === person && other.refused && other.form === name);
  if (!one || kept.read(name) || (await files.kept(name))?.length > 0) return;
  kept.write(name, { at: Date.now(), fields: one.fields });
  if (one.files) await files.rename(WAITS + one.key, name);
  kept.drop(WAITS + one.key);
  restore(form);
  await restoreFiles(form);
  showWaiting();
  say(`${before} Not saved: ${told(one)}. ${one.refused} It is back in this form.`.trim(), true);
};
