// Entries wait on this phone until the server has said that they are on its disk: in order, each once, by its key.
const STORE = "pit-entries";
const EVERY_MS = 15000;
const listeners = [];
let sending = null;

export function waiting() {
  try {
    return JSON.parse(localStorage.getItem(STORE) || "[]");
  } catch {
    return [];
  }
}

function keep(entries) {
  localStorage.setItem(STORE, JSON.stringify(entries));
  for (const listener of listeners) listener(entries.length);
}

export function onChange(listener) {
  listeners.push(listener);
}

export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export function put(entries) {
  const there = waiting();
  const keys = new Set(there.map((entry) => entry.key));
  const at = Date.now();
  keep([...there, ...entries.filter((entry) => !keys.has(entry.key)).map((entry) => ({ ...entry, at }))]);
  return send();
}

// What came back: "sent", "nothing", "offline", or "signed out". Two askers share one sending.
export function send() {
  sending ??= sendAll().finally(() => {
    sending = null;
  });
  return sending;
}

async function sendAll() {
  const entries = waiting();
  if (!entries.length) return "nothing";
  try {
    const now = Date.now();
    const body = entries.map(({ at, ...entry }) => ({ ...entry, age_s: Math.max(0, (now - at) / 1000) }));
    const answer = await fetch("/entries", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ entries: body }),
      signal: AbortSignal.timeout(10000),
    });
    if (answer.status === 401) return "signed out";
    if (!answer.ok) return "offline";
    const { kept, refused } = await answer.json();
    keep(waiting().filter((entry) => !(entry.key in kept) && !(entry.key in refused)));
    const sentences = Object.values(refused);
    if (sentences.length) dispatchEvent(new CustomEvent("refused", { detail: sentences }));
    return waiting().length ? sendAll() : "sent";
  } catch {
    return "offline";
  }
}

send();
setInterval(send, EVERY_MS);
addEventListener("online", send);
addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
addEventListener("storage", (event) => {
  if (event.key === STORE) for (const listener of listeners) listener(waiting().length);
});
