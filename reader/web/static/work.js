// The whole screen while something is under way: what it is doing, with the picture, and Stop.
import { percent, word } from "./words.js";

const sleep = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
let shown = null;

export function show(picture, step) {
  shown ??= document.querySelector("#work");
  shown.querySelector("[data-trouble]").hidden = true;
  shown.querySelector("[data-progress]").hidden = false;
  const image = shown.querySelector("img");
  image.hidden = !picture;
  if (picture) image.src = picture;
  tell(step, "", 0);
  if (!shown.open) shown.showModal();
  return shown;
}

export function tell(step, number, share) {
  if (!shown) return;
  const strong = shown.querySelector("[data-step]");
  if (strong.textContent !== step) strong.textContent = step;
  shown.querySelector("[data-number]").textContent = number;
  shown.querySelector("progress").value = share;
}

export function trouble(text) {
  shown.querySelector("[data-progress]").hidden = true;
  const note = shown.querySelector("[data-trouble]");
  note.hidden = false;
  note.querySelector("p").textContent = text;
}

export function onStop(act) {
  const stop = shown.querySelector("[data-stop]");
  stop.hidden = !act;
  stop.onclick = act;
}

export function close() {
  if (shown?.open) shown.close();
}

// Asks how far a part is until it is read. A server that is away is waited for, however long.
export async function watch(address, { onStep, signal } = {}) {
  for (;;) {
    if (signal?.aborted) throw new DOMException("stopped", "AbortError");
    let pause = 250;
    try {
      const answer = await fetch(`${address}/state`, { headers: { Accept: "application/json" }, signal });
      if (answer.status === 404) return;
      if (!answer.ok) throw new Error(answer.status);
      const now = await answer.json();
      if (now.state === "done" || now.state === "failed") return;
      onStep?.(now.state === "waiting" ? word("waiting") : now.step, now.state === "waiting" ? (now.ahead ? `${now.ahead} ${word("before it")}` : "") : percent(now.share), now.share);
    } catch (error) {
      if (signal?.aborted) throw error;
      onStep?.(word("away"), "", 0);
      pause = 1500;
    }
    await sleep(document.hidden ? 2000 : pause);
  }
}

export async function follow(address, picture) {
  show(picture, word("reading"));
  const control = new AbortController();
  onStop(() => { control.abort(); close(); });
  try {
    await watch(address, { onStep: tell, signal: control.signal });
  } catch { return; }
  go(address);
}

export function go(address) {
  if (address === location.pathname + location.search) location.reload();
  else location.assign(address);
}

// Forms that start work on a part (a turn, the box, its kind): told at once, and the place is kept.
function setUpForm(form) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const picture = form.querySelector("img")?.src || "";
    show(picture, word("sending"));
    onStop(null);
    try {
      const body = new URLSearchParams(new FormData(form, event.submitter));
      const answer = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } });
      const told = await answer.json();
      if (!answer.ok) { trouble(`${told.error}: ${told.remedy}.`); return; }
      await follow(told.address, picture);
    } catch { trouble(word("unreached")); }
  });
}

export function setUpWork() {
  document.querySelectorAll("[data-work]").forEach(setUpForm);
  for (const button of document.querySelectorAll("[data-close]")) button.addEventListener("click", close);
  for (const page of document.querySelectorAll("[data-watch]")) {
    const step = page.querySelector("[data-step]"), number = page.querySelector("[data-number]");
    watch(page.dataset.watch, {
      onStep: (text, much, share) => {
        step.textContent = text;
        number.textContent = much;
        page.querySelector("progress").value = share;
      },
    }).then(() => location.replace(page.dataset.then || page.dataset.watch));
  }
}
