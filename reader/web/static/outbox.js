// No picture is lost: each is kept on the phone until the server says that it has it on its disk.
import * as work from "./work.js";
import { percent, word } from "./words.js";

const PIECE = 512 * 1024;
const AGAIN = [2, 5, 10, 20, 30]; // seconds until the next try, the last one for ever
const memory = new Map(); // where a browser keeps nothing
let running = null;

function database() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("bench", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("outbox", { keyPath: "id" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

async function store(mode, act) {
  const base = await database();
  try {
    return await new Promise((resolve, reject) => {
      const deal = base.transaction("outbox", mode);
      const asked = act(deal.objectStore("outbox"));
      deal.oncomplete = () => resolve(asked.result);
      deal.onabort = deal.onerror = () => reject(deal.error);
    });
  } finally { base.close(); }
}

const put = (entry) => store("readwrite", (all) => all.put(entry)).catch(() => memory.set(entry.id, entry));
const forget = (id) => { memory.delete(id); return store("readwrite", (all) => all.delete(id)).catch(() => {}); };
const list = async () => [...await store("readonly", (all) => all.getAll()).catch(() => []), ...memory.values()]
  .sort((a, b) => a.made - b.made);

class Refused extends Error {}

async function ask(path, options = {}, seconds = 40) {
  const answer = await fetch(path, { ...options, signal: AbortSignal.any([running.signal, AbortSignal.timeout(seconds * 1000)]), headers: { Accept: "application/json", ...options.headers } });
  const told = answer.headers.get("content-type")?.startsWith("application/json") ? await answer.json() : {};
  if (answer.ok && !answer.redirected) return told;
  const text = told.error ? `${told.error}: ${told.remedy}.` : "";
  if ([400, 413, 415, 422].includes(answer.status)) throw new Refused(text || word("unreached"));
  const away = new Error(text || word("unreached"));
  away.unpaired = answer.status === 401 || answer.redirected;
  throw away;
}

// One entry, from where the server has it; gives the address of the part.
async function send(entry, onShare) {
  const path = `/outbox/${entry.id}`;
  const { token, sizes, address } = await ask(path);
  if (address && !entry.then) return address;
  const total = entry.files.reduce((sum, file) => sum + file.size, 0);
  const headers = { "X-Form-Token": token };
  let sent = 0;
  for (const [number, file] of entry.files.entries()) {
    let at = address ? file.size : Math.min(sizes[number] || 0, file.size);
    while (at < file.size) {
      const body = file.slice(at, at + PIECE);
      const told = await ask(`${path}/${number}?at=${at}`, { method: "POST", body, headers: { ...headers, "Content-Type": "application/octet-stream" } });
      at = told.size;
      onShare((sent + at) / total);
    }
    sent += file.size;
  }
  const body = new URLSearchParams(entry.fields);
  return (await ask(path, { method: "POST", body, headers })).address;
}

// All entries, oldest first. Nothing is thrown away but what the server has, or the visitor drops.
async function sendAll() {
  if (running) return;
  running = new AbortController();
  const one = async () => {
    let tries = 0;
    for (;;) {
      const waiting = (await list()).filter((entry) => !entry.held);
      if (!waiting.length) return;
      const entry = waiting[0], open = current?.id === entry.id;
      try {
        const address = await send(entry, (share) => { if (open) work.tell(word("sending"), percent(share), share); });
        await forget(entry.id);
        tries = 0;
        draw();
        if (current?.id === entry.id) { arrive(address); return; }
      } catch (error) {
        if (running.signal.aborted) return;
        if (error instanceof Refused) { await put({ ...entry, held: true, problem: error.message }); if (open) work.trouble(error.message); }
        else {
          await put({ ...entry, problem: error.message });
          if (open) work.trouble(error.unpaired ? word("unpaired") : `${word("kept")} ${navigator.onLine && error.message !== word("unreached") ? error.message : ""}`);
        }
        draw();
        if (error instanceof Refused) continue;
        await new Promise((resolve) => { wake = resolve; setTimeout(resolve, AGAIN[Math.min(tries, AGAIN.length - 1)] * 1000); });
        tries += 1;
      }
    }
  };
  try {
    if (navigator.locks) await navigator.locks.request("outbox", one);
    else await one();
  } finally { running = null; }
}

let wake = () => {};
let current = null; // the entry that the visitor looks at

async function arrive(address) {
  const picture = current.picture;
  current = null;
  if (address.startsWith("/part/")) await work.follow(address, picture);
  else location.assign(address);
}

function randomName() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function keepAndSend(files, fields) {
  const entry = { id: randomName(), made: Date.now(), files, fields, then: fields.then || "", held: false, problem: "" };
  await put(entry); // before anything is shown: what is seen is kept
  current = { id: entry.id, picture: files[0].type.startsWith("image/") ? URL.createObjectURL(files[0]) : "" };
  work.show(current.picture, word("sending"));
  work.onStop(async () => {
    running?.abort();
    current = null;
    await put({ ...entry, held: true, problem: word("stopped") });
    work.close();
    draw();
  });
  wake();
  sendAll();
}

// What waits on this phone, with its pictures.
async function draw() {
  const box = document.querySelector("#outbox");
  if (!box) return;
  const entries = await list();
  box.hidden = !entries.length;
  const rows = box.querySelector("ul");
  rows.replaceChildren(...entries.map((entry) => {
    const row = box.querySelector("template").content.firstElementChild.cloneNode(true);
    const picture = row.querySelector("img");
    if (entry.files[0].type.startsWith("image/")) picture.src = URL.createObjectURL(entry.files[0]);
    row.querySelector("[data-problem]").textContent = entry.held ? entry.problem : word("kept");
    row.querySelector("[data-again]").onclick = async () => { await put({ ...entry, held: false, problem: "" }); wake(); sendAll(); draw(); };
    row.querySelector("[data-drop]").onclick = async () => { await forget(entry.id); draw(); };
    return row;
  }));
}

function setUpForm(form) {
  const go = () => {
    const files = [...form.querySelectorAll("input[type=file]")].flatMap((input) => [...input.files]);
    if (!files.length) return;
    const fields = Object.fromEntries([...new FormData(form)].filter(([name, value]) => typeof value === "string" && name !== "token"));
    keepAndSend(files, fields);
    for (const input of form.querySelectorAll("input[type=file]")) input.value = "";
  };
  form.addEventListener("submit", (event) => { event.preventDefault(); go(); });
  for (const input of form.querySelectorAll("[data-now]")) input.addEventListener("change", go);
}

export function setUpOutbox() {
  document.querySelectorAll("[data-send]").forEach(setUpForm);
  for (const event of ["online", "pageshow", "focus"]) window.addEventListener(event, () => { wake(); sendAll(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { wake(); sendAll(); } });
  navigator.storage?.persist?.().catch(() => {});
  draw();
  sendAll();
}
