// Tightening goes on pass by pass, or nut by nut, without waiting for the register: the page has the whole
// plan. With a connection each pass asks whether its wrench may still be used. When each pass was finished is
// noted in the browser and sent with the section. Without script the same buttons are links, and no times are
// noted; sending and keeping stand in bench.js.
"use strict";

// A glove that presses twice does not skip a pass.
const TWICE = 600;

const noted = (place) => ["bench-passes", person, sheetOf(), place.dataset.tighten].join(":");

// A wrench that was found bad meanwhile is not gone on with: then the page of this pass asks for another one.
const lookUp = async (place, address) => {
  try {
    const answer = await fetch(address, { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
    const text = await answer.text();
    const page = new DOMParser().parseFromString(text, "text/html");
    // Meanwhile another page may have been shown, or the section sent, which is refused by the register itself.
    if (!answer.ok || !place.isConnected || sending.size > 0 || !page.querySelector("[data-tightens] .wrong")) return;
    showRefusal(text, "This wrench may not be used any more: choose another one below.");
  } catch {
    // No connection: the register looks at the wrench when the section comes.
  }
};

const tightening = (place) => {
  const tiles = [...place.querySelectorAll(".passes li")];
  const press = place.querySelector("[data-press]");
  const say = place.querySelector("[data-say]");
  const back = place.querySelector("[data-back]");
  const way = place.querySelector("[data-way]");
  const heading = document.querySelector("h1");
  const glass = place.querySelector("rect.vapour");
  const liquid = place.querySelector("rect.liquid");
  const places = Number(place.dataset.places);
  // The register's clock as this page was made: a tablet's own may be wrong.
  const ahead = Date.parse(place.dataset.now) - Date.now();
  const clockNow = () => new Date(Date.now() + ahead).toISOString();
  if (tiles.length === 0 || !press || !say) return;

  // The button that leads on, and the form that ends the section.
  let link = press.querySelector("a.button")?.parentElement;
  let form = press.querySelector("form") ?? document.importNode(press.querySelector("template").content, true).querySelector("form");
  press.querySelector("template")?.remove();
  if (!link) {
    link = document.createElement("p");
    link.className = "big";
    const button = document.createElement("a");
    button.className = "button";
    link.append(button);
  }
  const button = link.querySelector("a");

  const name = noted(place);
  const before = kept.read(name);
  const same = before && before.wrench === place.dataset.wrench && before.plan === place.dataset.plan && Date.now() - before.at < DAY;
  // Who begins with the first pass begins anew; a reload goes on where they were.
  const goesOn = same && new URLSearchParams(location.search).has("pass") && !("anew" in place.dataset);
  const at = goesOn
    ? { pass: before.pass, nut: before.nut, done: before.done }
    : { pass: "anew" in place.dataset ? 0 : Number(place.dataset.pass), nut: Number(place.dataset.nut), done: [] };
  if (at.nut > 0) at.nut = places > 0 ? Math.min(at.nut, places) : 0;
  let pressed = -TWICE;

  // Two nuts of one U-bolt share a number and are told apart by a letter.
  const called = (nut) => place.querySelector(`svg text[data-nut="${nut}"]`)?.textContent ?? nut;
  const last = () => at.pass === tiles.length - 1 && (at.nut === 0 || at.nut >= places);
  const address = (pass, nut) => {
    const to = new URL(location.href);
    to.pathname = form.getAttribute("action") ?? to.pathname;
    const told = new URLSearchParams(new FormData(form));
    for (const field of ["section", "wrench", "torque", "torque_unit", "torque_from"]) {
      if (told.get(field)) to.searchParams.set(field, told.get(field));
    }
    to.searchParams.set("pass", String(pass + 1));
    if (nut > 0) to.searchParams.set("nut", String(nut));
    else to.searchParams.delete("nut");
    return to.href;
  };
  const list = (ending) => [...at.done, ...ending].map((one) => `${one.torque} ${one.at}`).join(",");

  const show = () => {
    const tile = tiles[at.pass];
    tiles.forEach((one, i) => {
      one.className = i < at.pass ? "done" : i === at.pass ? "now" : "later";
      if (i === at.pass) one.setAttribute("aria-current", "step");
      else one.removeAttribute("aria-current");
    });
    say.textContent = at.nut === 0 ? say.dataset.all : say.dataset.one.replace("#", called(at.nut));
    place.querySelector("[data-torque]").textContent = tile.dataset.shown;
    place.querySelector(".say [data-also]").textContent = tile.dataset.also;
    // The room of both stays, so that the button does not move from under the finger.
    place.querySelector("[data-outside-now]")?.classList.toggle("unseen", !("outside" in tile.dataset));
    place.querySelector("[data-round]")?.classList.toggle("unseen", at.pass < tiles.length - 1);
    for (const nut of place.querySelectorAll("svg [data-nut]")) {
      nut.classList.toggle("tight", at.nut > 0 && Number(nut.dataset.nut) < at.nut);
      nut.classList.toggle("next", Number(nut.dataset.nut) === at.nut);
    }
    // A long plan slides on a phone: the nut that comes next is brought into its middle.
    const next = at.nut > 0 && place.querySelector(`svg polygon[data-nut="${at.nut}"]`)?.getBoundingClientRect();
    const plan = next && place.querySelector(".bolt-plan .scroll");
    if (plan) plan.scrollLeft += next.left + next.width / 2 - plan.getBoundingClientRect().left - plan.clientWidth / 2;
    liquid?.setAttribute("width", String(Math.floor((Number(glass.getAttribute("width")) * at.pass) / tiles.length)));
    const words = /\d+ of \d+/;
    const now = `${at.pass + 1} of ${tiles.length}`;
    if (heading) heading.textContent = heading.textContent.replace(words, now);
    document.title = document.title.replace(words, now);
    if (way) {
      way.textContent = at.nut === 0 ? way.dataset.one : way.dataset.all;
      way.href = address(at.pass, at.nut === 0 ? 1 : 0);
    }
    if (back) {
      back.hidden = at.pass === 0 && at.nut <= 1;
      if (at.nut > 1) back.href = address(at.pass, at.nut - 1);
      else if (at.pass > 0) back.href = address(at.pass - 1, at.nut === 0 ? 0 : places);
    }
    if (last()) {
      link.remove();
      if (!form.isConnected) {
        press.append(form);
        restore(form);
        // What leads on and what ends the section stand in one place: a second press is not meant.
        for (const one of form.querySelectorAll("button")) {
          one.disabled = true;
          // What waits from before is not pressed anew.
          if (!waiting().some((sent) => sent.form === nameOf(form))) setTimeout(() => (one.disabled = false), TWICE);
        }
      }
    } else {
      form.remove();
      if (!link.isConnected) press.append(link);
      button.textContent = at.nut === 0 ? `All nuts at ${tile.dataset.full}` : `Nut ${called(at.nut)} at ${tile.dataset.full}`;
      if (at.nut === 0) button.href = address(at.pass + 1, 0);
      else button.href = at.nut < places ? address(at.pass, at.nut + 1) : address(at.pass + 1, 1);
    }
  };
  const keepIt = () => {
    kept.write(name, { at: Date.now(), wrench: place.dataset.wrench, plan: place.dataset.plan, address: address(at.pass, at.nut), words: `pass ${at.pass + 1} of ${tiles.length} with ${place.dataset.wrench}`, ...at });
    history.replaceState(history.state, "", address(at.pass, at.nut));
  };
  const turned = () => {
    // A pass that is done again has no time yet.
    const ahead = tiles.slice(at.pass).map((one) => one.dataset.value);
    at.done = at.done.filter((one) => !ahead.includes(one.torque));
    keepIt();
    show();
  };

  form.dataset.keeps = name;
  form.addEventListener("formdata", (event) => {
    event.formData.set("finished", list([{ torque: tiles.at(-1).dataset.value, at: clockNow() }]));
  });
  place.addEventListener("click", (event) => {
    const on = event.target.closest("a");
    if (!on || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
    let ended = false;
    if (on === button) {
      event.preventDefault();
      if (event.timeStamp - pressed < TWICE) return;
      pressed = event.timeStamp;
      if (at.nut > 0 && at.nut < places) at.nut += 1;
      else {
        ended = true;
        at.done = [...at.done, { torque: tiles[at.pass].dataset.value, at: clockNow() }];
        at.pass += 1;
        if (at.nut > 0) at.nut = 1;
      }
    } else if (on === back) {
      event.preventDefault();
      if (at.nut > 1) at.nut -= 1;
      else {
        at.pass -= 1;
        if (at.nut > 0) at.nut = places;
      }
    } else if (on === way) {
      event.preventDefault();
      at.nut = at.nut === 0 ? 1 : 0;
    } else {
      return;
    }
    turned();
    if (ended) lookUp(place, address(at.pass, at.nut));
  });
  turned();
};

// Where somebody was when the page was closed, offered beside the choice of the wrench.
const goOn = () => {
  const chooser = document.querySelector("[data-tightens]");
  if (!chooser) return;
  const name = ["bench-passes", person, sheetOf(), chooser.dataset.tightens].join(":");
  const before = kept.read(name);
  const offered = [...chooser.querySelectorAll("[name=wrench]")].some((one) => one.value === before?.wrench && !one.disabled);
  // With a wrench that is refused nobody goes on, also not when it may be used again.
  if (before && !offered) kept.drop(name);
  if (!offered || before.plan !== chooser.dataset.plan || Date.now() - before.at > DAY || before.pass + before.nut === 0) return;
  const line = document.createElement("p");
  line.className = "big";
  const way = document.createElement("a");
  way.className = "button quiet";
  way.href = before.address;
  way.textContent = `Go on at ${before.words}`;
  line.append(way);
  chooser.after(line);
};

// What was typed before and is put back is not hidden in a part that is folded in.
const unfold = () => {
  for (const part of document.querySelectorAll(".bench form details")) {
    const fields = [...part.querySelectorAll("input, textarea")];
    if (fields.some((one) => one.value !== one.defaultValue)) part.open = true;
  }
};

const passes = () => {
  unfold();
  const place = document.querySelector("[data-tighten]");
  if (place) tightening(place);
  goOn();
};
passes();
document.addEventListener("bench:refused", passes);
