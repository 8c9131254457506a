// The workbench's own script: pages renew themselves when something changed, and readings told while the laptop is out of
// reach are kept on this device and sent once it is back. Pages work without it, except for these two things.
"use strict";

const WAITING = "wattwright-waiting";
const REFUSED = "wattwright-refused";
const SOON = 2000;

const stored = (name) => {
  try { return JSON.parse(localStorage.getItem(name)) || []; } catch { return []; }
};
const store = (name, list) => localStorage.setItem(name, JSON.stringify(list));

const newKey = () => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((it) => it.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
};

// What is told to the person on top of the page.

let away = false;
let locked = false;

function say() {
  const bar = document.getElementById("kept");
  const waiting = stored(WAITING), refused = stored(REFUSED);
  const parts = [];
  if (locked) parts.push("The laptop does not let this device in any more: open the address that it shows now. What is kept here is sent then.");
  else if (away) parts.push("The laptop is out of reach. Shown is the last state seen; what you tell now is kept here.");
  if (waiting.length) parts.push(`Kept on this device, to be sent by itself: ${waiting.map((it) => it.words).join("; ")}.`);
  for (const it of refused) parts.push(`Not taken by the laptop: ${it.words}. ${it.why}`);
  bar.replaceChildren(...parts.map((it) => Object.assign(document.createElement("span"), { textContent: it + " " })));
  if (refused.length) {
    const away = Object.assign(document.createElement("button"), { type: "button", textContent: "I have noted these" });
    away.addEventListener("click", () => { store(REFUSED, []); say(); });
    bar.append(away);
  }
  bar.hidden = parts.length === 0;
}

// The outbox: written down first, then sent, taken out when the laptop says that it has it.

let sending = false;

// Answers after which the same thing is sent again later: the laptop is busy, or was started anew and wants its pass.
const LATER = [401, 403, 421, 429];

async function send(mine) {
  if (sending) return;
  sending = true;
  let to = null;
  try {
    for (let item; (item = stored(WAITING)[0]); ) {
      let answer;
      try {
        answer = await fetch(item.action, {
          method: "POST", body: item.body, redirect: "error",
          headers: { "Content-Type": "application/x-www-form-urlencoded", "X-Outbox": "1" },
        });
      } catch { away = true; break; }
      locked = LATER.includes(answer.status);
      if (answer.status >= 500 || locked) break;
      const said = await answer.json().catch(() => ({ problems: [`The laptop answered ${answer.status}.`] }));
      store(WAITING, stored(WAITING).filter((it) => it.key !== item.key));
      away = false;
      const own = mine && mine.key === item.key;
      if (answer.ok && own) to = said.to;
      else if (!answer.ok && own) { mine.show(); return; } // the page comes back with what is wrong beside it
      else if (!answer.ok) store(REFUSED, [...stored(REFUSED), { words: item.words, why: (said.problems || []).join(" ") }]);
    }
  } finally {
    sending = false;
    say();
  }
  if (stored(WAITING).length) setTimeout(send, SOON);
  else if (to) location.assign(to);
  else renew();
}

function words(fields) {
  const place = fields.get("place");
  if (fields.get("corrects")) return `${place}: instead of ${fields.get("corrects")} ${fields.get("value")} V`;
  if (fields.get("pair")) {
    const chosen = document.querySelector("input[name=pair]:checked");
    return `${place}: ${chosen ? chosen.parentElement.textContent.trim() : ""} ${fields.get("value")} V`;
  }
  if (fields.get("cannot")) return "a check that cannot be made";
  return (fields.get("line") || "something told").replace("... V", `${fields.get("value")} V`);
}

// What is too large to be kept on the device waits in its camera.
document.addEventListener("submit", (event) => {
  if (!away || !event.target.matches("form[data-laptop]")) return;
  event.preventDefault();
  document.getElementById("kept").append("The picture stays here: attach it when the laptop is back in reach.");
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-outbox]") || form.dataset.plain) return;
  const fields = new FormData(form, event.submitter);
  if (fields.has("later")) return; // nothing to keep
  event.preventDefault();
  const key = fields.get("key");
  const item = { key, action: form.action, body: new URLSearchParams(fields).toString(), words: words(fields) };
  store(WAITING, [...stored(WAITING), item]);
  const fresh = newKey();
  for (const it of document.querySelectorAll("input[name=key]")) if (it.value === key) it.value = fresh;
  send({
    key,
    show() {
      form.dataset.plain = "1";
      for (const [name, value] of fields) {
        const old = form.elements.namedItem(name);
        if (name === "key") old.value = fresh;
        else if (!old || old === event.submitter) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
      }
      form.submit();
    },
  }).then(() => {
    if (!stored(WAITING).some((it) => it.key === key)) return;
    const value = form.querySelector("input[name=value], input[name=line][type=text]");
    if (value) { value.value = ""; value.focus(); }
  });
});

// Pages renew the parts that changed; what is being typed stays.

let renewing = null;

function renew() {
  clearTimeout(renewing);
  renewing = setTimeout(async () => {
    let page;
    try { page = await (await fetch(location.href)).text(); } catch { return; }
    const fresh = new DOMParser().parseFromString(page, "text/html");
    for (const old of document.querySelectorAll("[data-live]")) {
      const now = fresh.getElementById(old.id);
      const typing = old.contains(document.activeElement) && document.activeElement.matches("input, textarea, select");
      if (!now) { if (!typing) old.replaceChildren(); continue; }
      const same = (it) => it.outerHTML.replace(/name="key" value="[^"]*"/g, "").replace(" fresh", "");
      if (same(now) !== same(old) && !typing) { now.classList.add("fresh"); old.replaceWith(now); }
    }
    // a check that was not there before the answer was
    const main = document.querySelector("main"), first = document.getElementById("first");
    const check = fresh.getElementById("check");
    if (main && first && check && !document.getElementById("check")) first.after(check);
  }, 150);
}

const follows = document.body.dataset.follows;
const feed = new EventSource(follows ? `/live?site=${encodeURIComponent(follows)}` : "/live");
let before = false;
feed.addEventListener("open", () => {
  away = false;
  say();
  if (stored(WAITING).length) send();
  else if (before || document.querySelector("[data-soon]")) renew();
  before = true;
});
feed.addEventListener("error", async () => {
  away = true;
  // closed for good: the laptop answers, and not with the feed
  if (feed.readyState === EventSource.CLOSED) {
    const status = await fetch("/live", { method: "HEAD" }).then((it) => it.status, () => 0);
    away = status === 0;
    locked = LATER.includes(status);
    const typed = [...document.querySelectorAll("input[type=text], textarea")].some((it) => it.value !== it.defaultValue);
    // to the page that says why; what is being typed stays, and 204 says that there is no feed here
    if (!typed && status !== 204) setTimeout(() => location.reload(), locked ? 0 : SOON * 5);
  }
  say();
});
feed.addEventListener("change", () => { if (follows) renew(); });
addEventListener("pagehide", () => feed.close());
addEventListener("online", () => send());
addEventListener("offline", () => { away = true; say(); });

if ("serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js").catch(() => {});
say();
if (stored(WAITING).length) send();
