// The live sweep: one frame at a time, the next one when the server has answered the last.
import { word } from "./words.js";
import * as work from "./work.js";

const WIDEST = 1280, LEAST_PAUSE = 60;

export async function setUpSweep() {
  const form = document.querySelector("[data-sweep]");
  const video = form.querySelector("[data-video]"), lines = form.querySelector("[data-lines]");
  const hint = form.querySelector("[data-hint]"), words = form.querySelector("[data-words]");
  const name = [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const headers = { "X-Form-Token": form.elements.token.value, Accept: "application/json" };
  const say = (text) => { hint.hidden = !text; if (hint.textContent !== text) hint.textContent = text; };
  let over = false, stream;

  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } } });
  } catch { say(word("no camera")); return; }
  video.srcObject = stream;
  await video.play();
  const track = stream.getVideoTracks()[0];
  if (track.getCapabilities?.().torch) {
    const torch = form.querySelector("[data-torch]");
    let on = false;
    torch.hidden = false;
    torch.onclick = () => { on = !on; track.applyConstraints({ advanced: [{ torch: on }] }); };
  }

  const canvas = document.createElement("canvas");
  const frame = () => {
    const scale = Math.min(1, WIDEST / video.videoWidth);
    canvas.width = Math.round(video.videoWidth * scale);
    canvas.height = Math.round(video.videoHeight * scale);
    canvas.getContext("2d").drawImage(video, 0, 0, canvas.width, canvas.height);
    return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.85));
  };
  const draw = (told) => {
    lines.width = video.clientWidth;
    lines.height = video.clientHeight;
    const pen = lines.getContext("2d");
    const scale = Math.min(lines.width / video.videoWidth, lines.height / video.videoHeight);
    const wide = video.videoWidth * scale, high = video.videoHeight * scale;
    const left = (lines.width - wide) / 2, top = (lines.height - high) / 2;
    for (const line of told.lines || []) {
      pen.beginPath();
      line.outline.forEach(([x, y], index) => pen[index ? "lineTo" : "moveTo"](left + x * wide, top + y * high));
      pen.closePath();
      pen.strokeStyle = line.size ? "#ffcf33" : "#ffffff";
      pen.lineWidth = line.size ? 4 : 1.5;
      pen.stroke();
    }
  };
  const tell = (told) => {
    draw(told);
    form.dataset.looks = told.looks || 0;
    const { diameter, width } = told;
    if (diameter?.value) {
      form.querySelector("[data-diameter]").textContent = `${diameter.value} mm${width?.value ? ` · ${width.value}` : ""}`;
      words.textContent = `${diameter.words}${diameter.verdict === "sure" ? "" : `, ${diameter.share}`}`;
    }
    say((told.hints || []).join(" "));
  };
  async function end() {
    if (over) return;
    over = true;
    track.stop();
    canvas.toBlob((blob) => work.show(blob ? URL.createObjectURL(blob) : "", word("reading")));
    for (;;) {
      try {
        const body = new URLSearchParams(new FormData(form));
        const answer = await fetch(`/live/${name}/end`, { method: "POST", body, headers });
        const told = await answer.json();
        if (answer.ok) { location.assign(told.address); return; }
        if (answer.status !== 503) { work.trouble(`${told.error}: ${told.remedy}.`); return; }
      } catch { work.tell(word("away"), "", 0); }
      await new Promise((resolve) => setTimeout(resolve, 1500));
    }
  }
  form.querySelector("[data-end]").onclick = end;
  document.addEventListener("visibilitychange", () => { if (!document.hidden && !over) video.play(); });

  while (!over) {
    const begun = performance.now();
    try {
      const body = await frame();
      if (!body || document.hidden) { await new Promise((resolve) => setTimeout(resolve, 300)); continue; }
      const answer = await fetch(`/live/${name}?kind=${form.dataset.kind}`, { method: "POST", body, headers: { ...headers, "Content-Type": "image/jpeg" } });
      if (answer.status === 503 || answer.status === 429) { say(word("busy")); await new Promise((resolve) => setTimeout(resolve, 1000)); continue; }
      const told = await answer.json();
      if (!answer.ok) { say(told.error || word("unreached")); await new Promise((resolve) => setTimeout(resolve, 1500)); continue; }
      if (over) return;
      tell(told);
      if (told.done) { end(); return; }
    } catch { say(word("away")); await new Promise((resolve) => setTimeout(resolve, 1000)); }
    const spent = performance.now() - begun;
    if (spent < LEAST_PAUSE) await new Promise((resolve) => setTimeout(resolve, LEAST_PAUSE - spent));
  }
}
