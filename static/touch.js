// Improves pages that already work without it: nothing here is needed to do the job.
"use strict";

// A refused form: bring the summary of what is wrong to the reader.
for (const summary of document.querySelectorAll("[data-focus]")) summary.focus();
// Each line of the summary begins with the name of its field, where its message does not say it.
const summarised = () => {
  for (const link of document.querySelectorAll(".summary a[href^='#']")) {
    const field = document.getElementById(link.hash.slice(1));
    const label = field && (field.labels?.[0] ?? field.querySelector("legend"));
    const name = label?.textContent.trim();
    if (name && name.length < 60 && !link.textContent.includes(name)) link.prepend(name + ". ");
  }
};
summarised();
// The bench shows a refusal without leaving its page.
document.addEventListener("bench:refused", summarised);

// A form is sent once, however often its button is pressed; the server refuses doubles as well.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  window.setTimeout(() => delete form.dataset.sent, 8000);
});
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

// What waits in this browser is sent from any page; the scripts for that come only where something waits.
const sends = () => {
  try {
    return Object.keys(localStorage).some((name) => name.startsWith("bench-waits:"));
  } catch {
    return false;
  }
};
if (document.body.dataset.sends && !document.querySelector('script[src*="/bench.js"]') && sends()) {
  for (const address of document.body.dataset.sends.split(" ")) {
    const script = document.createElement("script");
    script.src = address;
    script.async = false;
    document.head.append(script);
  }
}

// A plant's time zone is most often the one of whoever names it.
for (const zone of document.querySelectorAll("[data-zone]")) {
  if (!zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
}

// A field that takes what a label says can read the label's code, where the browser knows how.
for (const field of document.querySelectorAll("[data-scan]")) {
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices) continue;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = "Read the code with the camera";
  field.after(button);
  button.addEventListener("click", async () => {
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch {
      button.textContent = "No camera may be used here; type the number";
      return;
    }
    const video = document.createElement("video");
    video.className = "finder";
    video.muted = true;
    video.playsInline = true;
    video.srcObject = stream;
    button.replaceWith(video);
    await video.play();
    const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
    const look = async () => {
      const [found] = await detector.detect(video).catch(() => []);
      if (!found) return window.setTimeout(look, 150);
      for (const track of stream.getTracks()) track.stop();
      video.replaceWith(button);
      field.value = found.rawValue;
      field.form.requestSubmit();
    };
    look();
  });
}

// A download that takes a while leads on to the page that says how far it has come.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-then]");
  if (link) window.setTimeout(() => window.location.assign(link.dataset.then), 1200);
});

// A few keys that spare the way through the menu. They are silent while somebody types, leave every
// combination with Ctrl, Alt or Meta alone, and can be turned off for this browser.
const KEYS_OFF = "keys:off";
const keysOff = () => {
  try {
    return localStorage.getItem(KEYS_OFF) === "yes";
  } catch {
    return false;
  }
};
for (const place of document.querySelectorAll("[data-keys]")) {
  const button = place.querySelector("button");
  const tell = () => {
    place.querySelector("span").textContent = keysOff() ? "They are off in this browser." : "They are on in this browser.";
    button.textContent = keysOff() ? "Turn the keys on" : "Turn the keys off";
  };
  place.hidden = false;
  tell();
  button.addEventListener("click", () => {
    try {
      if (keysOff()) localStorage.removeItem(KEYS_OFF);
      else localStorage.setItem(KEYS_OFF, "yes");
    } catch {
      // Where nothing may be kept, the keys stay as they are.
    }
    tell();
  });
}
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || event.defaultPrevented) return;
  if (event.target.closest("input, select, textarea, [contenteditable]") || keysOff()) return;
  if (event.key === "/") {
    const find = document.getElementById("find");
    if (!find) return;
    event.preventDefault();
    find.focus();
  } else if (event.key === "?") {
    const help = document.querySelector("a[data-key-list]");
    if (help) window.location.assign(help.href);
  } else if (/^[1-9]$/.test(event.key)) {
    const entry = document.querySelectorAll(".top nav a")[Number(event.key) - 1];
    if (entry) window.location.assign(entry.href);
  }
});

// On a phone the menu slides: the entry of the page one is on is brought into sight.
const here = document.querySelector(".top [aria-current]");
if (here) {
  const menu = here.closest("ul");
  const [inside, around] = [here.getBoundingClientRect(), menu.getBoundingClientRect()];
  menu.scrollLeft += inside.left - around.left - (around.width - inside.width) / 2;
}

// What is wider than its place slides inside it; keys reach it then, and it has the name of what is in it.
const slides = () => {
  for (const place of document.querySelectorAll(".scroll, .pem")) {
    const wider = place.scrollWidth > place.clientWidth + 1;
    if (wider && !place.hasAttribute("tabindex")) {
      const inside = place.querySelector("caption") ?? place.querySelector("svg > title");
      const section = place.closest("section, fieldset, main");
      const heading = inside ?? section?.querySelector("h2, h3, legend") ?? document.querySelector("h1");
      place.dataset.slides = "yes";
      place.tabIndex = 0;
      if (!place.hasAttribute("role")) place.setAttribute("role", "group");
      if (!place.hasAttribute("aria-label")) place.setAttribute("aria-label", heading?.textContent.trim() || document.title);
    } else if (!wider && place.dataset.slides) {
      // A place that no longer slides is no stop on the way of the keys.
      delete place.dataset.slides;
      place.removeAttribute("tabindex");
    }
  }
};
// Wider letters, a turned tablet, fonts that come and details that open all change what fits.
const fits = new ResizeObserver(slides);
for (const place of document.querySelectorAll(".scroll, .pem")) {
  fits.observe(place);
  for (const inside of place.children) fits.observe(inside);
}
slides();
