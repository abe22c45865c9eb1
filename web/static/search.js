// Follows a search by server-sent events and goes to its answer.
const box = document.getElementById("standing");
const part = (name) => box.querySelector(`[data-part="${name}"]`);

function show(standing) {
  for (const name of ["state", "note", "cost", "bound", "gap", "short", "seconds"]) {
    const place = part(name);
    const text = standing[name] || (["state", "note"].includes(name) ? "" : "–");
    if (place && place.textContent !== text) place.textContent = text;
  }
  box.querySelector(".share").value = standing.share;
  const first = part("first");
  if (first && standing.first) {
    first.href = `/do-now/${standing.first}`;
    first.hidden = false;
  }
}

if (box.dataset.open) {
  const source = new EventSource(box.dataset.stream);
  source.addEventListener("standing", (event) => {
    const standing = JSON.parse(event.data);
    show(standing);
    if (standing.open) return;
    source.close();
    if (standing.to) location.assign(standing.to);
    else location.reload();
  });
  source.addEventListener("error", () => {
    if (source.readyState === EventSource.CLOSED) return;
    part("note").textContent = "No connection just now; trying again.";
  });
  addEventListener("pagehide", () => source.close());
}
