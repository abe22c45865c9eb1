// Chooses a load in a chart and moves it by keys or by dragging; the form below is what is sent.
const form = document.getElementById("move-form");
const pick = form.elements.load;
const said = document.getElementById("moved");
const stepMin = Number(form.dataset.grid);
const bars = [...document.querySelectorAll(".pick")];
const SVG_PLOT = 976;

const codeOf = (bar) => bar.dataset.code;
const option = () => pick.selectedOptions[0];

function later(value, minutes) {
  const at = new Date(`${value}Z`);
  return new Date(at.getTime() + minutes * 60000).toISOString().slice(0, 16);
}

function choose(code, quiet) {
  pick.value = code;
  const chosen = option();
  for (const bar of bars) bar.classList.toggle("chosen", codeOf(bar) === code);
  if (!chosen || !code) return;
  form.elements.smoke.value = chosen.dataset.smoke;
  form.elements.finish.value = chosen.dataset.finish;
  form.elements.load_at.value = chosen.dataset.load;
  form.elements.wrap_at.value = chosen.dataset.wrap;
  form.elements.wrap_at.disabled = !chosen.dataset.wrap;
  form.elements.finish.disabled = !chosen.dataset.wrap;
  if (!quiet) said.textContent = `${chosen.textContent} is chosen.`;
}

function tell() {
  const rack = form.elements.smoke.selectedOptions[0]?.textContent ?? "";
  const at = new Date(`${form.elements.load_at.value}Z`);
  const when = at.toLocaleString([], { weekday: "short", hour: "numeric", minute: "2-digit", timeZone: "UTC" });
  said.textContent = `${pick.value}: on ${when}, ${rack}. Press “Move and audit” to see what that breaks.`;
}

function shift(minutes) {
  form.elements.load_at.value = later(form.elements.load_at.value, minutes);
  if (form.elements.wrap_at.value) form.elements.wrap_at.value = later(form.elements.wrap_at.value, minutes);
  tell();
}

function toRack(value) {
  const together = form.elements.finish.value === form.elements.smoke.value;
  form.elements.smoke.value = value;
  if (together || form.elements.finish.disabled) form.elements.finish.value = value;
  tell();
}

function nextRack(by) {
  const racks = [...form.elements.smoke.options].filter((one) => !one.value.endsWith("|"));
  const at = racks.findIndex((one) => one.value === form.elements.smoke.value);
  toRack(racks[(at + by + racks.length) % racks.length].value);
}

const KEYS = { ArrowLeft: () => shift(-stepMin), ArrowRight: () => shift(stepMin), ArrowUp: () => nextRack(-1), ArrowDown: () => nextRack(1) };

for (const bar of bars) {
  bar.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      choose(codeOf(bar));
      if (event.key === "Enter") form.elements.smoke.focus();
    } else if (KEYS[event.key]) {
      event.preventDefault();
      if (pick.value !== codeOf(bar)) choose(codeOf(bar), true);
      KEYS[event.key]();
    }
  });
  bar.addEventListener("pointerdown", (event) => hold(bar, event));
}

function rackAt(drawing, y) {
  const inside = (row) => y >= row.getBoundingClientRect().top && y < row.getBoundingClientRect().bottom;
  return [...drawing.querySelectorAll("[data-rack]")].find(inside);
}

// While it is held, the bar follows the pointer; where it is let go the form says what was asked for.
function hold(bar, event) {
  if (event.button) return;
  const drawing = bar.ownerSVGElement;
  const scale = drawing.viewBox.baseVal.width / drawing.getBoundingClientRect().width;
  const perUnit = Number(drawing.dataset.minutes) / SVG_PLOT;
  const home = rackAt(drawing, event.clientY);
  let moved = 0;
  let target = home;
  choose(codeOf(bar), true);
  bar.setPointerCapture(event.pointerId);
  bar.classList.add("held");

  const move = (next) => {
    const x = (next.clientX - event.clientX) * scale;
    moved = Math.round((x * perUnit) / stepMin) * stepMin;
    target = rackAt(drawing, next.clientY) ?? home;
    bar.setAttribute("transform", `translate(${x} ${(next.clientY - event.clientY) * scale})`);
    for (const row of drawing.querySelectorAll("[data-rack]")) row.classList.toggle("target", row === target && row !== home);
  };
  const done = (last) => {
    bar.removeEventListener("pointermove", move);
    bar.removeEventListener("pointerup", done);
    bar.removeEventListener("pointercancel", done);
    bar.classList.remove("held");
    for (const row of drawing.querySelectorAll(".target")) row.classList.remove("target");
    if (last.type === "pointercancel" || (!moved && target === home)) return bar.removeAttribute("transform");
    if (moved) shift(moved);
    if (target !== home) toRack(target.dataset.rack);
  };
  bar.addEventListener("pointermove", move);
  bar.addEventListener("pointerup", done);
  bar.addEventListener("pointercancel", done);
}

pick.addEventListener("change", () => choose(pick.value));
if (pick.value) choose(pick.value);
