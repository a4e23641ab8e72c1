// Files that are dropped or chosen, and what they are.
import { h } from "./dom.js";

/** A file to add: {file, folders, mode, from}. folders are those it lies in, the one given
 *  first; from says what the mode was taken from: "folder", "name" or "". */

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

const documents = /\.(html?|md|pdf|png|jpe?g|svg|docx?|tex)$/i; // what lies beside logs and nobody takes for one
const packed = /\.(zip|tar|tgz|tar\.(gz|zst|bz2))$/i;

/**
 * sorted tells the logs among files from the sheet, which is dropped as a file itself or
 * lies in the one folder given, and from what is passed over: other sheets and documents.
 * A sub-folder's name is the mode of its logs, unless it is a date; without one the stem of
 * a log's name is offered as its mode.
 */
export function sorted(files, dated) {
  const given = new Set(files.map((f) => f.folders[0]));
  const toml = files.filter((f) => /\.toml$/i.test(f.file.name));
  const named = toml.filter((f) => !f.folders.length);
  const found = given.size === 1 ? toml.find((f) => f.folders.length === 1 && f.file.name === "session.toml") : undefined;
  const sheet = named.length === 1 ? named[0] : found;
  const logs = files.filter((f) => !toml.includes(f) && !documents.test(f.file.name));
  for (const f of logs) {
    const name = (f.folders.length > 1 ? f.folders.at(-1) : "").trim();
    f.mode = new RegExp(dated).test(name) ? "" : name;
    f.from = f.mode ? "folder" : "";
    f.packed = packed.test(f.file.name);
  }
  return { logs, sheet: sheet?.file, over: files.filter((f) => f !== sheet && !logs.includes(f)).map((f) => f.file.name) };
}

/** stem is a file's name without its endings and its number: "calm" of "calm-1.nmea". */
export function stem(name) {
  const bare = name.replace(/(\.[A-Za-z][A-Za-z0-9]{0,5}){1,2}$/, "");
  return bare.replace(/([-_. ]*\d[\d\-_.T:Z]*)+$/, "").replace(/^[\d\-_.T ]+/, "").replace(/[-_. ]+$/, "").trim();
}

/** guess gives logs without a mode the stem of their name, where the stems of all differ
 *  from one to the next: one stem for all says nothing. */
export function guess(logs, nameOf = (f) => f.file.name) {
  const stems = logs.map((f) => stem(nameOf(f)));
  const kinds = new Set(stems.filter(Boolean));
  const telling = kinds.size > 1 && kinds.size <= 12 && stems.every(Boolean);
  return stems.map((t) => (telling ? t : ""));
}

/** pickers are the buttons for those who do not drop. */
export function pickers(onfiles, small) {
  const files = h("input", { type: "file", multiple: true, id: "pick-files", class: "hidden", tabindex: "-1", "aria-hidden": "true" });
  const folder = h("input", { type: "file", multiple: true, webkitdirectory: true, id: "pick-folder", class: "hidden", tabindex: "-1", "aria-hidden": "true" });
  for (const el of [files, folder]) el.addEventListener("change", () => onfiles(chosen(el)));
  return [files, folder,
    h("button", { type: "button", class: small ? "link" : "main", onclick: () => files.click() }, small ? "Add logs" : "Choose logs"),
    h("button", { type: "button", id: small ? "pick-folder-button" : null, class: small ? "link" : "", onclick: () => folder.click() }, small ? "Add a folder" : "Choose a folder")];
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
