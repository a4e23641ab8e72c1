// Tables on the clipboard: as a table with numbers and half-widths in cells of their own,
// so that a spreadsheet takes them for numbers, and the notes under it.
import { say } from "./dom.js";

/** A table to copy is {head, rows, notes}: cells are words, or {v, h, n}: a number as printed,
 *  its half-width, and the notes on it, counted from 1. half says which columns have
 *  half-widths. */

const words = (c) => (typeof c === "string" ? c : c?.v ?? "");
const number = (t) => t.replace("−", "-");

/** laidOut gives each number and each half-width a cell of its own. */
function laidOut(t) {
  const wide = t.head.map((_, i) => t.rows.some((r) => typeof r[i] === "object" && r[i]?.h));
  const noted = t.head.map((_, i) => t.rows.some((r) => typeof r[i] === "object" && r[i]?.n?.length));
  const spread = (cells, more) => cells.flatMap((c, i) => [words(c), ...(wide[i] ? [more(c, i, "h")] : []), ...(noted[i] ? [more(c, i, "n")] : [])]);
  return [spread(t.head, (c, i, k) => (k === "h" ? "±" : "note")), ...t.rows.map((r) => spread(r, (c, i, k) => (k === "h" ? c?.h || "" : (c?.n || []).map((n) => `[${n}]`).join(" "))))];
}

/** texts are the forms of a table on the clipboard. */
export function texts(t) {
  const rows = laidOut(t), notes = t.notes || [];
  const plain = [...rows.map((r) => r.map((c) => number(c.replace(/\s+/g, " "))).join("\t")), ...notes.map((n, i) => `[${i + 1}] ${n}`)].join("\n");
  const doc = document.implementation.createHTMLDocument("");
  const table = doc.createElement("table");
  rows.forEach((r, i) => {
    const tr = doc.createElement("tr");
    r.forEach((c, j) => {
      const td = doc.createElement(i && j ? "td" : "th");
      td.textContent = /^−?[\d.]+$/.test(c) ? number(c) : c;
      tr.append(td);
    });
    table.append(tr);
  });
  const holder = doc.createElement("div");
  holder.append(table);
  notes.forEach((n, i) => {
    const p = doc.createElement("p");
    p.textContent = `[${i + 1}] ${n}`;
    holder.append(p);
  });
  return { plain, html: holder.innerHTML };
}

/** copy puts a table on the clipboard. */
export async function copy(t) {
  if (!t) return say("There is no table yet.", true);
  const { plain, html } = texts(t);
  const done = () => say("The table is on the clipboard.");
  try {
    if (!navigator.clipboard?.write) throw new Error("no clipboard");
    await navigator.clipboard.write([new ClipboardItem({ "text/html": new Blob([html], { type: "text/html" }), "text/plain": new Blob([plain], { type: "text/plain" }) })]);
    done();
  } catch {
    // Without leave, or on an address that is not this machine: answer the browser's own copying.
    const give = (e) => { e.preventDefault(); e.clipboardData.setData("text/plain", plain); e.clipboardData.setData("text/html", html); };
    document.addEventListener("copy", give, { once: true });
    if (document.execCommand("copy")) done();
    else say("The browser does not allow copying here; save the table as a file.", true);
    document.removeEventListener("copy", give);
  }
}

/** plainTable reads a small table of the page: numbers with their half-widths as such. */
export function plainTable(el) {
  if (!el) return null;
  const cell = (c) => {
    const n = c.querySelector(".num");
    if (!n) return c.textContent.replace(/\s+/g, " ").trim();
    if (n.matches(".none")) return "";
    const u = n.querySelector(".u")?.textContent.replace("±", "").trim() || "";
    return { v: n.querySelector(".i").textContent + (n.querySelector(".f")?.textContent || ""), h: u };
  };
  const [head, ...rows] = [...el.rows].map((r) => [...r.cells].map(cell));
  return { head, rows, notes: [] };
}
