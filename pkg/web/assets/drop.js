// Files that are dropped or chosen, and their way to the server.
import { h, say } from "./dom.js";
import { send } from "./api.js";

/** A file to add: {file, folders, mode}. folders are those it lies in, the one given first. */

/** collect reads a drop, folders included. */
export async function collect(transfer) {
  const entries = [...transfer.items].map((i) => i.webkitGetAsEntry && i.webkitGetAsEntry()).filter(Boolean);
  if (!entries.length) return [...transfer.files].map((file) => ({ file, folders: [], mode: "" }));
  const out = [];
  const walk = async (entry, folders) => {
    if (entry.name.startsWith(".")) return;
    if (entry.isFile) {
      const file = await new Promise((ok, no) => entry.file(ok, no)).catch(() => null);
      if (file) out.push({ file, folders, mode: "" });
      return;
    }
    const reader = entry.createReader();
    for (;;) {
      const some = await new Promise((ok, no) => reader.readEntries(ok, no)).catch(() => []);
      if (!some.length) break;
      for (const e of some) await walk(e, [...folders, entry.name]);
    }
  };
  for (const e of entries) await walk(e, []);
  return out;
}

/** chosen reads a file input, with or without folders. */
function chosen(input) {
  const out = [...input.files].filter((f) => !f.name.startsWith(".")).map((file) => (
    { file, folders: (file.webkitRelativePath || "").split("/").slice(0, -1), mode: "" }));
  input.value = "";
  return out;
}

/**
 * sorted tells the logs among files from the sheet, which is dropped as a file itself or
 * lies in the one folder given, and from other sheets, which are passed over. A sub-folder's name is the mode of its logs,
 * unless it is a date.
 */
export function sorted(files, dated) {
  const given = new Set(files.map((f) => f.folders[0]));
  const toml = files.filter((f) => /\.toml$/i.test(f.file.name));
  const named = toml.filter((f) => !f.folders.length);
  const found = given.size === 1 ? toml.find((f) => f.folders.length === 1 && f.file.name === "session.toml") : undefined;
  const sheet = named.length === 1 ? named[0] : found;
  const logs = files.filter((f) => !toml.includes(f));
  for (const f of logs) {
    const name = (f.folders.length > 1 ? f.folders.at(-1) : "").trim();
    f.mode = new RegExp(dated).test(name) ? "" : name;
  }
  return { logs, sheet: sheet?.file, over: toml.filter((f) => f !== sheet).map((f) => f.file.name) };
}

/** pickers are the buttons for those who do not drop. */
export function pickers(onfiles) {
  const files = h("input", { type: "file", multiple: true, id: "pick-files", class: "hidden", tabindex: "-1", "aria-hidden": "true" });
  const folder = h("input", { type: "file", multiple: true, webkitdirectory: true, id: "pick-folder", class: "hidden", tabindex: "-1", "aria-hidden": "true" });
  for (const el of [files, folder]) el.addEventListener("change", () => onfiles(chosen(el)));
  return h("p", { class: "row" }, files, folder,
    h("button", { type: "button", class: "main", onclick: () => files.click() }, "Choose logs"),
    h("button", { type: "button", onclick: () => folder.click() }, "Choose a folder"));
}

let taker = null;

/** accept says who takes what is dropped on the page. */
export function accept(fn) {
  taker = fn;
}

const veil = document.getElementById("veil");
let depth = 0;
const hasFiles = (e) => [...(e.dataTransfer?.types || [])].includes("Files");
addEventListener("dragenter", (e) => { if (hasFiles(e)) { depth++; veil.hidden = false; } });
addEventListener("dragleave", (e) => { if (hasFiles(e) && --depth <= 0) { depth = 0; veil.hidden = true; } });
addEventListener("dragover", (e) => { if (hasFiles(e)) e.preventDefault(); });
addEventListener("drop", (e) => {
  if (!hasFiles(e)) return;
  e.preventDefault();
  depth = 0;
  veil.hidden = true;
  if (taker) taker(e.dataTransfer);
});

/** Uploads sends files, a few at a time, and keeps what became of each. */
export class Uploads {
  constructor(session, limit, onchange) {
    Object.assign(this, { session, limit, onchange, items: [], active: 0, count: 0 });
  }

  add(files) {
    for (const f of files) {
      const it = { key: "u" + this.count++, name: f.file.name, mode: f.mode, file: f.file, total: f.file.size, done: 0, state: "waiting", text: "" };
      if (f.file.size > this.limit) Object.assign(it, { state: "failed", text: `larger than the ${this.limit >> 20} MiB that are taken` });
      else if (f.file.size === 0) Object.assign(it, { state: "failed", text: "the file is empty" });
      this.items.push(it);
    }
    this.onchange();
    this.next();
  }

  next() {
    while (this.active < 3) {
      const it = this.items.find((i) => i.state === "waiting");
      if (!it) return;
      this.run(it);
    }
  }

  async run(it) {
    this.active++;
    it.state = "sending";
    it.abort = new AbortController();
    this.onchange();
    const q = new URLSearchParams({ name: it.name, mode: it.mode, key: it.key });
    try {
      const r = await send(`/api/sessions/${this.session}/logs?${q}`, it.file, it.abort.signal);
      it.state = r.inSession ? "known" : "stored";
      it.text = r.inSession ? "already in this session" : r.known ? "already in the archive" : "";
      if (r.inSession) say(it.name + " is already in this session");
    } catch (e) {
      it.state = it.abort.signal.aborted ? "cancelled" : "failed";
      it.text = it.state === "cancelled" ? "cancelled" : it.text || e.message;
    }
    it.file = null;
    this.active--;
    this.onchange();
    this.next();
  }

  /** told takes the server's word on how many bytes have arrived. */
  told(e) {
    const it = this.items.find((i) => i.key === e.key);
    if (!it || it.state !== "sending") return;
    it.done = e.done || it.done;
    if (e.text) it.text = e.text;
    this.onchange();
  }

  cancel(it) {
    if (it.state === "waiting") Object.assign(it, { state: "cancelled", text: "cancelled", file: null });
    else it.abort?.abort();
    this.onchange();
  }

  cancelAll() {
    for (const it of this.items) if (it.state === "waiting" || it.state === "sending") this.cancel(it);
  }

  clear() {
    this.items = this.items.filter((i) => i.state === "waiting" || i.state === "sending");
    this.onchange();
  }
}
