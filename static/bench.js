// The bench through a bad connection: what is typed stays in the browser until the server has it, a
// form that could not be sent is sent again with the same key, and the person sees what waits.
// Without script the same forms work as ordinary ones.
"use strict";

const PREFIX = "bench:";
const sheet = document.querySelector(".bench");

// Where the words "saved" and "waiting" stand; they are read out when they change.
const line = document.createElement("p");
line.className = "kept";
line.setAttribute("role", "status");
if (sheet) (sheet.querySelector(".stages") ?? sheet.firstElementChild).after(line);
const say = (words, waits) => {
  line.textContent = words;
  line.classList.toggle("waits", Boolean(waits));
};

// A draft belongs to one form of one page of one rebuild; the heading names gauge and step.
const nameOf = (form) =>
  [
    PREFIX + (form.getAttribute("action") || location.pathname),
    sheet ? sheet.dataset.rebuild : "",
    new URLSearchParams(location.search).get("correct") || "",
  ].join(":");

const fieldsOf = (form) =>
  [...new FormData(form)].filter(([name, value]) => typeof value === "string" && !["key", "seen", "version"].includes(name));

const keep = (form) => {
  try {
    localStorage.setItem(nameOf(form), JSON.stringify({ at: Date.now(), fields: fieldsOf(form) }));
  } catch {
    // No room, or not allowed: the form still works, only the draft is not kept.
  }
};
const forget = (form) => localStorage.removeItem(nameOf(form));

const restore = (form) => {
  let draft = null;
  try {
    draft = JSON.parse(localStorage.getItem(nameOf(form)));
  } catch {
    draft = null;
  }
  // A shift later the sheet has moved on: an old draft is let go.
  if (!draft || Date.now() - draft.at > 24 * 3600 * 1000) return false;
  const seen = {};
  for (const [name, value] of draft.fields) (seen[name] ??= []).push(value);
  let filled = false;
  for (const field of form.elements) {
    if (!field.name || field.type === "hidden" || !(field.name in seen || field.type === "checkbox")) continue;
    const values = seen[field.name] || [];
    if (field.type === "checkbox" || field.type === "radio") {
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

// Sends a form until the server has answered. The key in it makes that safe: the server does it once,
// and answers a second sending with where the first one led.
const send = async (form, button) => {
  const address = (button && button.getAttribute("formaction")) || form.getAttribute("action") || location.pathname;
  const data = new FormData(form);
  if (button && button.name) data.append(button.name, button.value);
  const body = form.enctype === "multipart/form-data" ? data : new URLSearchParams(data);
  for (let wait = 1000; ; wait = Math.min(wait * 2, 15000)) {
    try {
      say("Saving …", true);
      const answer = await fetch(address, { method: "POST", body, redirect: "follow", headers: { "x-bench": "1" } });
      if (answer.status === 502 || answer.status === 503 || answer.status === 504) throw new Error("busy");
      return answer;
    } catch {
      say("No connection: what you entered waits here and is sent as soon as the register answers.", true);
      await new Promise((done) => {
        const go = () => {
          clearTimeout(timer);
          removeEventListener("online", go);
          done();
        };
        const timer = setTimeout(go, wait);
        addEventListener("online", go);
      });
    }
  }
};

const show = (answer, form, button) => {
  if (answer.ok && answer.redirected) {
    if (new URL(answer.url).pathname === "/people/sign-in") {
      // Signed out meanwhile: the draft stays and is there again after signing in.
      location.assign(answer.url);
      return;
    }
    forget(form);
    sessionStorage.setItem(PREFIX + "said", "Saved.");
    if (answer.url === location.href) location.reload();
    else location.assign(answer.url);
    return;
  }
  // Refused, or only worked out: nothing was written, so the form is sent once more the plain way and
  // the browser shows the page that comes back as it would without script.
  sessionStorage.setItem(PREFIX + "said", answer.ok ? "Not saved: this only worked it out." : "Not saved: see what is wrong below.");
  if (button && button.name) {
    const pressed = document.createElement("input");
    pressed.type = "hidden";
    pressed.name = button.name;
    pressed.value = button.value;
    form.append(pressed);
  }
  form.action = (button && button.getAttribute("formaction")) || form.getAttribute("action") || location.pathname;
  form.submit();
};

const forms = () => [...document.querySelectorAll(".bench form[method=post]")];

if (sheet) {
  let restored = false;
  for (const form of forms()) restored = restore(form) || restored;
  const said = sessionStorage.getItem(PREFIX + "said");
  sessionStorage.removeItem(PREFIX + "said");
  if (said) say(said, said !== "Saved.");
  else if (restored) say("What you had typed here is back; it is not saved yet.", true);

  document.addEventListener("input", (event) => {
    const form = event.target.closest(".bench form[method=post]");
    if (!form) return;
    keep(form);
    say("Kept in this browser; not saved yet.", true);
  });
  document.addEventListener(
    "submit",
    (event) => {
      const form = event.target;
      if (!form.matches(".bench form[method=post]")) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      if (form.dataset.sending) return;
      form.dataset.sending = "yes";
      keep(form);
      send(form, event.submitter)
        .then((answer) => show(answer, form, event.submitter))
        .finally(() => delete form.dataset.sending);
    },
    true,
  );
  addEventListener("offline", () => say("No connection: what you enter is kept in this browser.", true));
  addEventListener("online", () => say("The connection is back.", false));

  // The hold: counted down from what the server's clock said; the server alone decides.
  const timer = document.querySelector("[data-hold-left]");
  if (timer) {
    const began = performance.now();
    const left = Number(timer.dataset.holdLeft);
    const shown = timer.querySelector("[data-hold-shown]");
    const tick = () => {
      const rest = Math.ceil(left - (performance.now() - began) / 1000);
      if (left > 0 && rest > 0) {
        shown.textContent = `${Math.floor(rest / 60)}:${String(rest % 60).padStart(2, "0")} still to hold`;
        setTimeout(tick, 500);
      } else if (left > 0) {
        shown.textContent = "Held long enough: look at every joint, then read";
      }
    };
    tick();
    // A tablet that slept has lost the count: ask the server again.
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible" && left > 0 && performance.now() - began > 60000) location.reload();
    });
  }
}
