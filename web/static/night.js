// The board of the moment: kept fresh while there is a connection, and honest about its age while there is none.
import { newKey, onChange, put, send, waiting } from "./queue.js";

const board = document.getElementById("board");
const state = document.getElementById("link-state");
const FRESH_MS = 20000;
const STALE_MS = 60000;
const BY = "pit-person";
let heard = Date.now();
let shown = heard;
let choosing = false;
let refused = [];
let signedOut = false;

const clock = (ms) => new Date(ms).toLocaleTimeString([], { hour: "numeric", minute: "2-digit" });
const person = () => board.querySelector("#person")?.value ?? "";

function tell() {
  const count = waiting().length;
  const parts = [];
  if (signedOut) parts.push("You are signed out: sign in again, what you noted is kept on this phone.");
  if (Date.now() - heard > STALE_MS) parts.push(`This page is stale: no connection since ${clock(heard)}.`);
  else if (Date.now() - shown > STALE_MS) parts.push(`Shown as of ${clock(shown)}, because something is open here.`);
  if (count) parts.push(`${count} ${count === 1 ? "entry is" : "entries are"} kept on this phone and sent when there is a connection.`);
  parts.push(...refused);
  const text = parts.join(" ");
  if (state.textContent !== text) state.textContent = text;
  state.hidden = !text;
}

// What somebody types or has opened is not pulled away under the thumb.
function busy() {
  const at = document.activeElement;
  const typing = at && board.contains(at) && at.tagName === "INPUT";
  return typing || choosing || board.querySelector("details[open]");
}

async function refresh(force) {
  if (document.visibilityState !== "visible") return tell();
  try {
    const answer = await fetch(`${board.dataset.from}?person=${encodeURIComponent(person())}`, { signal: AbortSignal.timeout(8000) });
    signedOut = answer.status === 401;
    if (answer.ok) {
      const text = await answer.text();
      const focused = document.activeElement?.id;
      heard = Date.now();
      if (force || !busy()) {
        shown = heard;
        board.innerHTML = text;
        if (focused) document.getElementById(focused)?.focus();
        choosing = false;
        mark();
      }
    }
  } catch {
    /* no connection: the age of the page says so */
  }
  tell();
}

// What waits on this phone is shown as done here already.
function mark() {
  for (const entry of waiting()) {
    if (entry.task && entry.what !== "late") board.querySelector(`[data-task="${entry.task}"]`)?.classList.add("kept-here");
  }
}

function entriesOf(form, button) {
  const data = new FormData(form);
  const what = button?.value || "note";
  const base = { what, task: data.get("task") || "", reason: what === "done" || what === "note" ? "" : data.get("reason") || "", by: board.dataset.by || localStorage.getItem(BY) || person() };
  if (data.get("undoes")) return [{ ...base, key: data.get("key"), undoes: Number(data.get("undoes")) }];
  const events = [];
  for (const field of form.querySelectorAll("[name^=event]")) {
    if (!field.dataset.only || field.dataset.only === what) events.push(JSON.parse(field.value));
  }
  if (data.get("probe")) {
    const temp = Number(String(data.get("temp_f")).replace(",", "."));
    if (!Number.isFinite(temp) || temp < 20 || temp > 400 || data.get("temp_f") === "") return null;
    events.push({ kind: "probe", load: data.get("probe"), temp_f: temp });
  }
  const key = data.get("key");
  return events.length ? events.map((event, at) => ({ ...base, key: `${key}-${at}`, event })) : [{ ...base, key }];
}

board.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.classList.contains("entry")) return;
  event.preventDefault();
  const entries = entriesOf(form, event.submitter);
  if (!entries) {
    form.querySelector("input:not([type=hidden])")?.focus();
    return;
  }
  if (form.classList.contains("again")) form.elements.key.value = newKey();
  else for (const button of form.querySelectorAll("button")) button.disabled = true;
  form.closest("[data-task], .on-load, li")?.classList.add("kept-here");
  form.closest("details.reading")?.removeAttribute("open");
  refused = [];
  const result = await put(entries);
  signedOut = result === "signed out";
  if (result === "sent") await refresh(true);
  tell();
});

board.addEventListener("change", (event) => {
  if (event.target.id !== "person") return;
  choosing = false;
  history.replaceState(null, "", `?person=${encodeURIComponent(event.target.value)}`);
  if (event.target.value) localStorage.setItem(BY, event.target.value);
  refresh(true);
});

for (const kind of ["focusin", "focusout"]) board.addEventListener(kind, (event) => {
  if (event.target.id === "person") choosing = kind === "focusin";
});

addEventListener("refused", (event) => {
  refused = event.detail;
  tell();
});
addEventListener("online", async () => {
  await send();
  refresh(true);
});
addEventListener("visibilitychange", () => refresh(false));
onChange(tell);
setInterval(() => refresh(false), FRESH_MS);
setInterval(tell, 5000);
mark();
tell();
