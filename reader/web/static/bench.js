// What the page can do better with a script: progress while sending and reading, and the box.
// Everything works without it.
const root = document.documentElement;
root.classList.add("script");

const percent = (share) => `${Math.round(share * 100)} %`;

function send(form, onShare) {
  const request = new XMLHttpRequest();
  const done = new Promise((resolve, reject) => {
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) onShare(event.loaded / event.total);
    });
    request.addEventListener("load", () => {
      let body = {};
      try { body = JSON.parse(request.responseText); } catch { /* told below */ }
      if (request.status < 300) resolve(body);
      else reject(new Error(`${body.error || "It did not arrive"}: ${body.remedy || "send it again"}.`));
    });
    request.addEventListener("error", () => reject(new Error("The server can't be reached: check the network and send it again.")));
    request.addEventListener("abort", () => reject(new Error("Stopped.")));
    request.addEventListener("timeout", () => reject(new Error("It took too long: send it again.")));
  });
  request.open("POST", form.action);
  request.setRequestHeader("Accept", "application/json");
  request.send(new FormData(form));
  return { request, done };
}

async function watch(address, box) {
  const step = box.querySelector("[data-step]");
  const number = box.querySelector("[data-number]");
  const bar = box.querySelector("progress");
  let misses = 0;
  for (;;) {
    try {
      const answer = await fetch(`${address}/state`, { headers: { Accept: "application/json" } });
      if (!answer.ok) throw new Error(answer.status);
      const now = await answer.json();
      misses = 0;
      if (now.state === "done" || now.state === "failed") break;
      const words = now.step.charAt(0).toUpperCase() + now.step.slice(1);
      if (step.textContent !== words) step.textContent = words;
      number.textContent = now.state === "waiting" && now.ahead ? `${now.ahead} waiting` : percent(now.share);
      bar.value = now.share;
    } catch {
      misses += 1;
      if (misses > 40) { step.textContent = "The server can't be reached"; return; }
    }
    await new Promise((resolve) => setTimeout(resolve, misses ? 1500 : 250));
  }
  location.replace(address);
}

function setUpSending(form) {
  const box = form.querySelector("[data-sending]");
  const trouble = form.querySelector("[data-trouble]");
  const bar = box.querySelector("progress");
  const number = box.querySelector("[data-number]");
  const stop = box.querySelector("[data-stop]");

  async function go() {
    trouble.hidden = true;
    box.hidden = false;
    stop.hidden = false;
    box.querySelector("[data-step]").textContent = "Sending";
    const { request, done } = send(form, (share) => {
      bar.value = share;
      number.textContent = percent(share);
    });
    stop.onclick = () => request.abort();
    try {
      const { address } = await done;
      stop.hidden = true;
      await watch(address, box);
    } catch (error) {
      box.hidden = true;
      trouble.hidden = false;
      trouble.textContent = error.message;
      for (const input of form.querySelectorAll("input[type=file]")) input.value = "";
    }
  }

  form.addEventListener("submit", (event) => { event.preventDefault(); go(); });
  for (const input of form.querySelectorAll("[data-now]")) {
    input.addEventListener("change", () => { if (input.files.length) go(); });
  }
}

function setUpBox(form) {
  const frame = form.querySelector(".frame");
  const rect = frame.querySelector(".box");
  const view = frame.querySelector("svg").viewBox.baseVal;
  const fields = ["left", "top", "width", "height"].map((name) => form.elements[name]);
  let from = null;

  const at = (event) => {
    const area = frame.getBoundingClientRect();
    const clamp = (value) => Math.min(1, Math.max(0, value));
    return [clamp((event.clientX - area.left) / area.width), clamp((event.clientY - area.top) / area.height)];
  };
  const draw = () => {
    const [left, top, width, height] = fields.map((field) => Number(field.value) / 100 || 0);
    rect.setAttribute("x", left * view.width);
    rect.setAttribute("y", top * view.height);
    rect.setAttribute("width", width * view.width);
    rect.setAttribute("height", height * view.height);
  };
  frame.addEventListener("pointerdown", (event) => {
    from = at(event);
    frame.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  frame.addEventListener("pointermove", (event) => {
    if (!from) return;
    const to = at(event);
    const box = [Math.min(from[0], to[0]), Math.min(from[1], to[1]), Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1])];
    fields.forEach((field, index) => { field.value = (box[index] * 100).toFixed(1); });
    draw();
  });
  for (const end of ["pointerup", "pointercancel"]) frame.addEventListener(end, () => { from = null; });
  for (const field of fields) field.addEventListener("input", draw);
}

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
    if (count) count.textContent = `${shown} of ${rows.length} sizes`;
  });
}

document.querySelectorAll("[data-send]").forEach(setUpSending);
document.querySelectorAll("[data-box]").forEach(setUpBox);
document.querySelectorAll("[data-filter]").forEach(setUpFilter);
document.querySelectorAll("[data-watch]").forEach((box) => watch(box.dataset.watch, box));
