// The bench through a bad connection: what is typed stays in the browser until the server has it. What
// was sent and not answered waits there too, through a reload or a closed page, and is sent again with
// the same key by whoever sent it; the server does it once. Photographs wait beside it, in files.js; how
// it is shown stands in waiting.js.
// Without script the forms work as they are.
"use strict";

const DRAFT = "bench:";
const WAITS = "bench-waits:";
const SAID = "bench-said";
const DAY = 24 * 3600 * 1000;
// The server forgets answered keys after two weeks; what waited longer is typed text again.
const STALE = 12 * DAY;
// A dead link that swallows requests is taken for no connection after this long.
const PATIENCE = 30000;
// What the next page is to say is said by it soon, or not at all: it may have been a page without these words.
const SOON = 2 * 60 * 1000;
// A photograph over a thin link takes longer: at least so many bytes come through in a millisecond.
const THIN = 16;
const NO_ROOM = "There is no room in this browser to keep the picture: add it before you leave this page.";

const person = document.body.dataset.person ?? "";
const sheetOf = () => document.querySelector(".bench")?.dataset.rebuild ?? "";

// What the browser keeps; without room or leave for it the forms still work.
const kept = {
  read(name) {
    try {
      return JSON.parse(localStorage.getItem(name));
    } catch {
      return null;
    }
  },
  write(name, value) {
    try {
      localStorage.setItem(name, JSON.stringify(value));
      return true;
    } catch {
      // Not kept; the page itself still holds it.
      return false;
    }
  },
  drop(name) {
    try {
      localStorage.removeItem(name);
    } catch {
      // Then there was nothing.
    }
  },
  all(prefix) {
    try {
      return Object.keys(localStorage).filter((name) => name.startsWith(prefix));
    } catch {
      return [];
    }
  },
};

// Where "saved" and "waiting" stand; it is read out when it changes.
const line = () => {
  const there = document.querySelector("p.kept");
  if (there) return there;
  const made = document.createElement("p");
  made.className = "kept";
  made.setAttribute("role", "status");
  const stages = document.querySelector(".bench .stages");
  if (stages) stages.after(made);
  else document.querySelector("main")?.prepend(made);
  return made;
};
const say = (words, waits, link) => {
  const place = line();
  place.textContent = words;
  place.classList.toggle("waits", Boolean(waits));
  if (!link) return;
  const way = document.createElement("a");
  way.href = link.to;
  way.textContent = link.words;
  place.append(" ", way);
};
// The words belong to one page: another one that is opened first says nothing of them.
const sayNext = (words, to = location.href) => {
  try {
    sessionStorage.setItem(SAID, JSON.stringify({ words, page: new URL(to, location.href).pathname, at: Date.now() }));
  } catch {
    // Then the next page says nothing.
  }
};

// Drafts: one for each form of each sheet and person.
const nameOf = (form) =>
  [
    DRAFT + person,
    form.getAttribute("action") || location.pathname,
    sheetOf(),
    new URLSearchParams(location.search).get("correct") || "",
  ].join(":");

const typedIn = (form) =>
  [...new FormData(form)].filter(([name, value]) => typeof value === "string" && !["key", "seen", "version"].includes(name));

const keep = (form) => kept.write(nameOf(form), { at: Date.now(), fields: typedIn(form) });

const restore = (form) => {
  const draft = kept.read(nameOf(form));
  // A shift later the sheet has moved on: an old draft is let go.
  if (!draft || Date.now() - draft.at > DAY) return false;
  const typed = {};
  for (const [name, value] of draft.fields) (typed[name] ??= []).push(value);
  let filled = false;
  for (const field of form.elements) {
    if (!field.name || field.type === "hidden" || !(field.name in typed || field.type === "checkbox")) continue;
    const values = typed[field.name] || [];
    if (field.type === "radio") {
      // A choice that cannot be taken any more leaves what the page proposes.
      if (!values.includes(field.value) || field.disabled || field.checked) continue;
      field.checked = true;
      filled = true;
    } else if (field.type === "checkbox") {
      const on = values.includes(field.value);
      if (field.checked !== on && !field.disabled) filled = true;
      if (!field.disabled) field.checked = on;
    } else if (values.length > 0 && field.type !== "file") {
      if (field.value !== values[0]) filled = true;
      field.value = values.shift();
    }
  }
  return filled;
};

// A connection this slow is not waited for by a form that can take its next entry.
const SLOW = 4000;
const sending = new Set();
// What somebody looks on at while it is sent, and what is done then.
const looking = new Map();
// What waits since it was entered on this very page, which has said so.
const released = new Set();
const rest = (wait) =>
  new Promise((done) => {
    const go = () => {
      clearTimeout(timer);
      removeEventListener("online", go);
      done();
    };
    const timer = setTimeout(go, wait);
    addEventListener("online", go);
  });

// Asks until the register has answered. The key in a form makes that safe: a second sending is
// answered with where the first one led.
const untilAnswered = async (ask, waits) => {
  for (let wait = 1000; ; wait = Math.min(wait * 2, 15000)) {
    try {
      const answer = await fetch(...ask());
      if (answer.status === 429 || answer.status >= 500) throw new Error(String(answer.status));
      return { status: answer.status, to: answer.redirected ? answer.url : "", text: await answer.text() };
    } catch {
      waits();
      await rest(wait);
    }
  }
};

const post = (one, pictures, waits) =>
  untilAnswered(() => {
    const body = one.multipart ? new FormData() : new URLSearchParams();
    for (const [name, value] of one.fields) body.append(name, value);
    // How long it waited here, in seconds: what was read of a hold counts when it was read, not when it arrives.
    body.append("waited", Math.max(0, Math.floor((Date.now() - one.at) / 1000)));
    for (const picture of pictures) body.append(picture.field, picture.blob, picture.name);
    const bytes = pictures.reduce((sum, picture) => sum + picture.blob.size, 0);
    const signal = AbortSignal.timeout(PATIENCE + bytes / THIN);
    return [one.address, { method: "POST", body, redirect: "follow", headers: { "x-bench": "1" }, signal }];
  }, waits);

// The register has it, or has refused it: then what was typed and taken is back in its form.
const settled = async (one, saved) => {
  if (saved) {
    // First, so that no other page takes it for one whose pictures are lost.
    kept.drop(WAITS + one.key);
    // A form that only adds may hold its next entry already.
    if (!one.adds) kept.drop(one.form);
    if (one.keeps) kept.drop(one.keeps);
    if (one.files) await files.drop(WAITS + one.key, ...(one.adds ? [] : [one.form]));
  } else if (one.files) {
    await files.rename(WAITS + one.key, one.form);
  }
  kept.drop(WAITS + one.key);
  sending.delete(one.key);
};

// Whether whoever began this page is still the one who is signed in here. A shared tablet may have
// changed hands on another page.
const stillSignedIn = async () => {
  try {
    const answer = await fetch("/help/keys", { signal: AbortSignal.timeout(PATIENCE) });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    return page.body.dataset.person === person;
  } catch {
    return false;
  }
};

const asksWho = (answer) => answer.status === 401 || (answer.to && new URL(answer.to).pathname === "/people/sign-in");

const signedOut = () => {
  say("You were signed out. What you entered waits here and is sent when you have signed in again.", true);
  const here = location.pathname + location.search;
  location.assign(`/people/sign-in?next=${encodeURIComponent(here)}`);
};

// A refusal is a page of its own: its content takes the place of this page's, so that nothing is
// asked for twice over a bad connection.
const showRefusal = (text, words) => {
  const page = new DOMParser().parseFromString(text, "text/html");
  const main = page.querySelector("main");
  if (main) {
    document.querySelector("main").replaceWith(document.importNode(main, true));
    document.title = page.title;
    for (const summary of document.querySelectorAll("main [data-focus]")) summary.focus();
    for (const form of forms()) restoreFiles(form);
    showWaiting();
    document.dispatchEvent(new Event("bench:refused"));
  }
  say(words, true);
};

// Pictures that were chosen and not sent are put back into their form.
const restoreFiles = async (form) => {
  const fields = [...form.elements].filter((field) => field.type === "file" && field.files.length === 0);
  if (fields.length === 0) return false;
  const list = (await files.kept(nameOf(form), DAY)) ?? [];
  let filled = false;
  for (const field of fields) {
    const chosen = new DataTransfer();
    for (const one of list) {
      if (one.field === field.name) chosen.items.add(new File([one.blob], one.name, { type: one.blob.type }));
    }
    if (chosen.files.length === 0 || field.files.length > 0) continue;
    field.files = chosen.files;
    filled = true;
  }
  return filled;
};
const chosenIn = (data) => [...data].filter(([, value]) => typeof value !== "string" && value.size > 0);

// An entry as it is sent, and kept until it was answered.
const entryOf = (form, button) => {
  const data = new FormData(form);
  if (button?.name) data.append(button.name, button.value);
  const fields = [...data].filter(([, value]) => typeof value === "string");
  const chosen = chosenIn(data);
  const one = {
    key: data.get("key"),
    form: nameOf(form),
    address: button?.getAttribute("formaction") || form.getAttribute("action") || location.pathname,
    page: location.pathname + location.search,
    sheet: sheetOf(),
    what: document.querySelector("h1")?.innerText.trim() ?? "",
    words: short((data.get("caption") || data.get("text") || "").trim()),
    multipart: form.enctype === "multipart/form-data",
    files: chosen.length > 0,
    keeps: form.dataset.keeps,
    adds: addsOnly(form),
    at: inTurn(),
    fields,
    person,
    who: document.body.dataset.name,
  };
  return [one, chosen];
};

// Closes a form for a while; what had the focus has it again afterwards.
const shut = (form) => {
  const had = form.contains(document.activeElement) ? document.activeElement : null;
  form.inert = true;
  return () => {
    form.inert = false;
    if (document.activeElement === document.body) had?.focus({ preventScroll: true });
  };
};

// What an earlier sending was refused for is not said of what waits now: the register has not seen that yet.
const unsaid = (form) => {
  for (const summary of document.querySelectorAll(".bench .summary")) summary.remove();
  for (const place of form.querySelectorAll(".refused")) place.classList.add("mended");
  for (const field of form.querySelectorAll("[aria-invalid=true]")) field.setAttribute("aria-invalid", "false");
};

// Brings a form's entry to the register while the person looks on.
const submit = async (form, button) => {
  const [one, chosen] = entryOf(form, button);
  if (sending.has(one.key)) return;
  sending.add(one.key);
  // A form that only adds is emptied when its entry has left it: until then nothing new goes into it.
  const free = one.adds ? shut(form) : () => (form.inert = false);
  keep(form);
  say("Saving \u2026", true);
  // The pictures first: what is said to wait has all it needs.
  const room = (!one.files || (await files.keep(WAITS + one.key, chosen, one.form))) && kept.write(WAITS + one.key, one);
  if (one.adds && room) {
    sending.delete(one.key);
    await inLine(form, one, free);
    return;
  }
  const pictures = chosen.map(([field, blob]) => ({ field, blob, name: blob.name }));
  const answer = await post(one, pictures, () => {
    // Nothing is changed in what waits, and nothing else is sent by the form until it was answered.
    form.inert = true;
    unsaid(form);
    say(
      room
        ? "No connection: what you entered waits here and is sent as soon as the register answers, also after a reload or when you come back later."
        : "No connection, and no room in this browser to keep this: it waits on this page only and is sent as soon as the register answers. Leave the page open.",
      true,
    );
    showWaiting();
  });
  await concluded(form, one, answer, room, free);
};

// A form that only adds gives its entry to what waits and takes the next one, where it is not answered
// at once. What waits is sent by one run, so that the order stays.
const inLine = (form, one, free) =>
  new Promise((done) => {
    // Until it is let go, the form is its own draft; a reload would offer it once more.
    kept.drop(one.form);
    const waits = (why = "No connection") => {
      if (!looking.delete(one.key)) return;
      released.add(one.key);
      unsaid(form);
      const more = nextEntry(form);
      if (more) free();
      say(
        `${why}: what you entered waits here and is sent in its turn, also after a reload or when you come back later. ${more ? "This form takes the next one." : "This page takes no more until the connection is back."}`,
        true,
      );
      showWaiting();
      done();
    };
    looking.set(one.key, {
      waits,
      answered: async (answer) => {
        looking.delete(one.key);
        await concluded(form, one, answer, true, free);
        done();
      },
    });
    if (waiting().some((other) => other.at < one.at)) waits();
    else setTimeout(() => waits("Not answered yet"), SLOW);
    catchUp();
  });

// What the register has answered to an entry whose person looks on. A form whose entry is saved stays
// closed: its page is left now.
const concluded = async (form, one, answer, room, free) => {
  if (!answer.to || asksWho(answer)) free();
  if (asksWho(answer)) {
    sending.delete(one.key);
    if (room) signedOut();
    else say("You were signed out, and this waits on this page only. Sign in on another page, come back here and press again.", true);
    return;
  }
  if (answer.status === 400 && room && !(await stillSignedIn())) {
    sending.delete(one.key);
    sayNext(`Not sent: somebody else is signed in here now. What ${one.who} entered waits and is sent when ${one.who} signs in again.`);
    location.reload();
    return;
  }
  if (!answer.to && one.adds && room && !mended(answer)) {
    // Its form may never be opened again, so it keeps a place of its own.
    const { refused } = refuse(one, whyNot(answer), true);
    form.inert = !nextEntry(form);
    say(`Not saved: ${refused}`, true);
    return;
  }
  await settled(one, Boolean(answer.to));
  if (!answer.to && one.adds) kept.write(one.form, { at: Date.now(), fields: one.fields });
  if (answer.to) {
    sayNext("Saved.", answer.to);
    open(answer.to);
  } else if (answer.status === 400) {
    sayNext("Not saved: this page was opened under another sign-in. What you typed is back; look whether it is recorded below, then press again.");
    location.reload();
  } else if (answer.status === 200) {
    showRefusal(answer.text, "Not saved: this only worked it out.");
  } else if (answer.status === 422) {
    showRefusal(answer.text, "Not saved: see what is wrong below.");
  } else {
    say(`Not saved: ${whyNot(answer)} What you typed is kept in this browser.`, true);
  }
};

const open = (address) => {
  if (address === location.href) location.reload();
  else location.assign(address);
};

// Sends what waits from before: a page that was reloaded or closed, or a session that had ended. One run
// at a time, so that the order stays; what was asked for while a run was ending is done by one more.
let running = null;
let asked = false;
const catchUp = () => {
  asked = true;
  running ??= catchingUp();
  return running;
};
const catchingUp = async () => {
  try {
    while (asked) {
      asked = false;
      await sendWaiting();
    }
  } finally {
    running = null;
  }
};
const sendWaiting = async () => {
  const saved = [];
  const tried = new Set();
  // Of those that were not taken, what is said of the last one, and where it is looked at.
  let stopped = null;
  const stops = (one) => (stopped = { words: `Not saved: ${told(one)}. ${one.refused}`, to: one.over ? "" : one.page });
  for (;;) {
    const one = waiting().find((other) => !sending.has(other.key) && !tried.has(other.key));
    if (!one) break;
    tried.add(one.key);
    if (Date.now() - one.at > STALE) {
      if (one.adds) {
        stops(refuse(one, "It waited for too long to be sent by itself."));
        continue;
      }
      kept.write(one.form, { at: Date.now(), fields: one.fields });
      await settled(one, false);
      say(`${named(one)} of ${new Date(one.at).toDateString()} was never sent; look at it and send it, or leave it.`, true, { to: one.page, words: "Open it" });
      return;
    }
    sending.add(one.key);
    const words = `${named(one)}, entered at ${clock(one.at)}, waits here and is sent as soon as the register answers.`;
    if (!looking.has(one.key) && !released.has(one.key)) say(words, true);
    const pictures = one.files ? await files.kept(WAITS + one.key) : [];
    if (!pictures) {
      sending.delete(one.key);
      looking.get(one.key)?.waits("Not sent yet");
      // Another page of this browser has sent it meanwhile.
      if (!kept.read(WAITS + one.key)) continue;
      // Those behind it go on: each of them stands by itself.
      if (pictures === null) stops(refuse({ ...one, files: false }, "Its picture is not in this browser any more: take it again.", true));
      else stopped = { words: `${words} Its picture cannot be read now; load the page again.`, to: one.page };
      continue;
    }
    const answer = await post(one, pictures, () => {
      if (looking.has(one.key)) looking.get(one.key).waits();
      else if (!released.has(one.key)) say(`No connection: ${words}`, true);
    });
    const watch = looking.get(one.key);
    if (watch) {
      await watch.answered(answer);
      return;
    }
    if (asksWho(answer)) {
      sending.delete(one.key);
      if (released.has(one.key) && !busy()) signedOut();
      else say(`You are signed out. ${words}`, true, { to: `/people/sign-in?next=${encodeURIComponent(one.page)}`, words: "Sign in" });
      return;
    }
    if (answer.status === 400 && !(await stillSignedIn())) {
      sending.delete(one.key);
      say(`Not sent: somebody else is signed in here now. ${named(one)}, entered at ${clock(one.at)}, waits and is sent when ${one.who} signs in again.`, true);
      return;
    }
    if (answer.to) {
      await settled(one, true);
      saved.push(one);
      showWaiting();
    } else if (one.adds) {
      stops(refuse(one, whyNot(answer), !mended(answer)));
    } else {
      await settled(one, false);
      kept.write(one.form, { at: Date.now(), fields: one.fields });
      showWaiting();
      say(`Not saved: ${named(one)}, entered at ${clock(one.at)}, was refused. ${whyNot(answer)} What was typed is kept.`, true, { to: one.page, words: "Open it" });
      return;
    }
  }
  const words = saved.length > 0 ? `Saved: ${saved.map(named).join("; ")}.` : "";
  if (stopped) {
    say(`${words} ${stopped.words}`.trim(), true, stopped.to && { to: stopped.to, words: "Open it" });
    if (!busy()) for (const form of forms()) await putBack(form, words);
    return;
  }
  if (saved.length === 0) return;
  if (saved.some((one) => one.sheet && one.sheet === sheetOf()) && !busy()) {
    // The step that was sent is done; what comes next is on the sheet.
    const next = new URL(saved.at(-1).sheet ? `/bench/${encodeURIComponent(saved.at(-1).sheet.split("/")[0])}` : location.href, location.href).href;
    sayNext(words, next);
    open(next);
  } else {
    say(words, false);
  }
};

const forms = () => [...document.querySelectorAll(".bench form[method=post]")];

// A link or a choice inside the sheet waits for the connection too, and never ends on the browser's
// own page that says there is none.
const follow = async (address) => {
  await untilAnswered(
    () => ["/healthz", { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(PATIENCE) }],
    () => say("No connection: the page opens as soon as the register answers.", true),
  );
  location.assign(address);
};

const begin = () => {
  tidyLeft();
  const waits = new Set(waiting().map((one) => one.form));
  let restored = false;
  for (const form of forms()) {
    restored = restore(form) || restored;
    // What was sent is not sent anew with another key while nobody knows whether it arrived.
    if (waits.has(nameOf(form)) && !addsOnly(form)) for (const button of form.querySelectorAll("button")) button.disabled = true;
  }
  for (const form of forms()) {
    restoreFiles(form).then((back) => {
      if (back && waits.size === 0) say("What you had chosen and typed here is back; it is not saved yet.", true);
      return putBack(form);
    });
  }
  files.tidy((name) => name.startsWith(WAITS) && kept.read(name) !== null);
  let said = null;
  try {
    const text = sessionStorage.getItem(SAID);
    sessionStorage.removeItem(SAID);
    const before = JSON.parse(text);
    if (before?.page === location.pathname && Date.now() - before.at < SOON) said = before.words;
  } catch {
    said = null;
  }
  if (said) say(said, !said.startsWith("Saved"));
  else if (waits.size === 0 && restored) say("What you had typed here is back; it is not saved yet.", true);
  showWaiting();
};

// Where the other scripts did not arrive nothing can be kept, and the forms send as they do without any.
const whole = typeof tidyLeft === "function" && typeof files === "object";

// What was left open and refused is no longer marked once it is filled in; its room stays, so that nothing
// moves. What was filled in and refused keeps its words until the register has seen it again.
const answered = (field) => {
  const place = field.closest(".refused");
  const own = place ? [...place.querySelectorAll("input:not([type=hidden]), select, textarea")] : [];
  const holds = (one, before) => {
    if (one.type === "radio" || one.type === "checkbox") return before ? one.defaultChecked : one.checked;
    if (one.tagName === "SELECT") return Boolean(before ? one.querySelector("option[selected]")?.value : one.value);
    return (before ? one.defaultValue : one.value).trim() !== "";
  };
  // A unit beside a figure always holds something: the figure stands first and alone is asked.
  const asked = own[0]?.type === "radio" ? own : own.slice(0, 1);
  if (asked.length === 0 || asked.some((one) => holds(one, true))) return;
  const now = asked.some((one) => holds(one, false));
  place.classList.toggle("mended", now);
  for (const one of own) if (one.hasAttribute("aria-invalid")) one.setAttribute("aria-invalid", String(!now));
};
document.addEventListener("input", (event) => {
  const form = event.target.closest?.(".bench form[method=post]");
  if (!form || !whole) return;
  keep(form);
  answered(event.target);
  // What was refused says on top that nothing is saved.
  const still = document.querySelector(".bench .summary") ? "Kept in this browser." : "Kept in this browser; not saved yet.";
  say(form.dataset.full ? NO_ROOM : still, true);
});
document.addEventListener("change", async (event) => {
  const form = event.target.closest?.(".bench form[method=post]");
  if (!form || !whole || event.target.type !== "file") return;
  const chosen = chosenIn(new FormData(form));
  delete form.dataset.full;
  if (chosen.length === 0) files.drop(nameOf(form));
  else if (!(await files.keep(nameOf(form), chosen))) {
    form.dataset.full = "yes";
    say(NO_ROOM, true);
  }
});
document.addEventListener(
  "submit",
  (event) => {
    const form = event.target;
    if (!whole || !form.closest(".bench")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (form.dataset.sending) return;
    form.dataset.sending = "yes";
    const method = form.getAttribute("method") === "post" ? submit(form, event.submitter) : follow(askedBy(form));
    method.finally(() => delete form.dataset.sending);
  },
  true,
);
const askedBy = (form) => {
  const to = new URL(form.getAttribute("action") || location.pathname, location.href);
  to.search = new URLSearchParams([...new FormData(form)].filter(([, value]) => typeof value === "string")).toString();
  return to.href;
};
document.addEventListener("click", (event) => {
  const link = event.target.closest?.(".bench a[href]");
  if (!link || event.defaultPrevented || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (link.hasAttribute("download") || link.target || link.origin !== location.origin || link.hash) return;
  event.preventDefault();
  follow(link.href);
});
addEventListener("offline", () => {
  if (sheetOf()) say("No connection: what you enter is kept in this browser.", true);
});
addEventListener("online", () => {
  if (sheetOf() && sending.size === 0) say("The connection is back.", false);
  catchUp();
});
// A page the browser kept while another one was looked at still has its form shut and its key used.
addEventListener("pageshow", (event) => {
  if (event.persisted && sheetOf()) location.reload();
});
// Another tab has sent what this one shows as waiting.
addEventListener("storage", (event) => {
  if (!event.key?.startsWith(WAITS)) return;
  showWaiting();
  if (event.newValue !== null) return;
  const one = JSON.parse(event.oldValue ?? "null");
  // Only of what this page showed as waiting: a page that was left may have sent it just before.
  if (!one || one.refused || sending.has(one.key) || !listed.has(one.key) || !one.sheet || one.sheet !== sheetOf()) return;
  say(`${named(one)} was sent meanwhile.`, true, { to: location.href, words: "See how it stands" });
});

if (whole) {
  begin();
  catchUp();
}

// The hold: counted down from what the server's clock said; the server alone decides. Which of the two
// buttons stands out is swapped when it has lasted long enough, or leaks.
const holding = () => {
  const timer = document.querySelector("[data-hold-left]");
  if (!timer) return;
  const began = performance.now();
  const left = Number(timer.dataset.holdLeft);
  const shown = timer.querySelector("[data-hold-shown]");
  const ending = document.getElementById("ending");
  let over = left <= 0;
  const stands = () => {
    const seen = ending?.querySelector("[name=leak]:checked");
    const ends = over || Boolean(seen && seen.value !== "none");
    ending?.querySelector("[data-hold-reads]")?.classList.toggle("quiet", ends);
    ending?.querySelector("[data-hold-ends]")?.classList.toggle("quiet", !ends);
  };
  const tick = () => {
    if (!timer.isConnected) return;
    const still = Math.ceil(left - (performance.now() - began) / 1000);
    if (left > 0 && still > 0) {
      shown.textContent = `${Math.floor(still / 60)}:${String(still % 60).padStart(2, "0")} still to hold`;
      setTimeout(tick, 500);
    } else if (left > 0) {
      over = true;
      shown.textContent = "Held long enough: look at every joint, then read";
      const heading = document.querySelector("h1");
      if (heading) {
        document.title = document.title.replace(heading.textContent, timer.dataset.holdOver);
        heading.textContent = timer.dataset.holdOver;
      }
      stands();
    }
  };
  tick();
  stands();
  ending?.addEventListener("change", stands);
  // A tablet that slept has lost the count: ask the server again.
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && timer.isConnected && left > 0 && performance.now() - began > 60000) location.reload();
  });
};
holding();
document.addEventListener("bench:refused", holding);
