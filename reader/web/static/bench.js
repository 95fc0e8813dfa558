// What the page can do better with a script. Everything works without it.
import { setUpOutbox } from "./outbox.js";
import { setUpWork, watch } from "./work.js";
import { setUpBoxes } from "./box.js";

document.documentElement.classList.add("script");

function setUpFilter(input) {
  const rows = [...document.querySelectorAll(`#${input.dataset.filter} tbody tr`)];
  const count = document.querySelector("[data-count]");
  input.addEventListener("input", () => {
    const words = input.value.toLowerCase().replaceAll("×", "x").split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of rows) {
      const text = row.textContent.toLowerCase();
      row.hidden = !words.every((word) => text.includes(word));
      if (!row.hidden) shown += 1;
    }
    if (count) count.textContent = `${shown} / ${rows.length}`;
  });
}

// Rows of parts that are still read: they move, and become links to their answers.
function setUpRow(row) {
  const tell = row.querySelector("[data-row-step]");
  watch(row.dataset.reading, {
    onStep: (step, number) => { tell.textContent = `${step} ${number}`; },
  }).then(() => location.reload()).catch(() => {});
}

// A bin's button puts the part away at once; 'one after the other' then opens the camera again.
function setUpOneByOne(box) {
  const key = "one-by-one";
  try { box.checked = localStorage.getItem(key) === "yes"; } catch { /* not kept then */ }
  box.addEventListener("change", () => {
    try { localStorage.setItem(key, box.checked ? "yes" : "no"); } catch { /* not kept then */ }
  });
  for (const form of document.querySelectorAll("[data-store]")) {
    form.addEventListener("submit", async (event) => {
      if (!box.checked) return;
      event.preventDefault();
      const body = new URLSearchParams(new FormData(form, event.submitter));
      const camera = document.querySelector("[data-camera]");
      const answer = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } }).catch(() => null);
      if (!answer || !answer.ok) { form.submit(); return; }
      const { said } = await answer.json();
      const note = document.querySelector("[data-stored]");
      note.textContent = said;
      note.hidden = false;
      camera.click();
    });
  }
}

setUpOutbox();
setUpWork();
setUpBoxes();
document.querySelectorAll("[data-filter]").forEach(setUpFilter);
document.querySelectorAll("[data-reading]").forEach(setUpRow);
document.querySelectorAll("[data-one-by-one]").forEach(setUpOneByOne);
if (document.querySelector("[data-sweep]")) import("./sweep.js").then((module) => module.setUpSweep());
if ("serviceWorker" in navigator && window.isSecureContext) {
  navigator.serviceWorker.register("/offline.js").catch(() => {});
}
