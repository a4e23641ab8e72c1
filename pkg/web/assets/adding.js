// What is being added: the modes to confirm, a row a file; and the way of each file.
import { h, bytes, plural, replace, say, modeField } from "./dom.js";
import { guess, sorted } from "./drop.js";
import { post } from "./api.js";
import { staysFor } from "./uploads.js";

const many = 60; // above it one mode is asked for all

export function adding(ctx) {
  const asked = h("div", { id: "ask" });
  const sending = h("ul", { class: "sending", "aria-label": "Logs being added" });
  const el = h("section", { class: "adding", id: "adding", hidden: true, "aria-label": "Logs being added" }, asked, sending);
  let waiting = [], offered = null; // logs whose mode is asked for, a sheet that the session has another of
  const stay = staysFor(() => waiting.length > 0);
  ctx.onleave.push(stay);

  const show = () => {
    const items = ctx.uploads.items.filter((i) => i.state !== "stored");
    el.hidden = !waiting.length && !items.length && !offered;
    drawUploads(ctx, sending, items);
  };

  /** drop takes files: the sheet first, then the logs; what is asked already stays asked. */
  ctx.drop = async (files) => {
    if (!files.length) return;
    const { logs, sheet, over } = sorted(files, ctx.limits.datedFolder);
    const what = [logs.length ? plural(logs.length, "log") : "", sheet ? "a sheet" : ""].filter(Boolean).join(" and ") || "No log";
    say(`${what}${over.length ? `; passed over, no log: ${over.join(", ")}` : "."}`);
    const taken = sheet ? await ctx.takeSheet(await sheet.text(), sheet.name) : false;
    if (!logs.length) return;
    const open = logs.filter((f) => !f.mode && !f.packed);
    if (taken || ctx.view.revision && sheet || !open.length) return ctx.uploads.add(logs);
    const guessed = guess(open);
    open.forEach((f, i) => { f.mode = guessed[i]; f.from = guessed[i] ? "name" : ""; });
    ctx.uploads.add(logs.filter((f) => !open.includes(f)));
    waiting.push(...open);
    ask();
  };

  /** takeSheet makes a text the sheet, unless the session has one: then it is offered. */
  ctx.takeSheet = async (text, name) => {
    if (ctx.view.revision) {
      offered = { text, name };
      ask();
      return false;
    }
    try {
      ctx.take(await post(ctx.base + "/edit", { op: "dropped", base: ctx.view.revision, text }));
      return true;
    } catch (e) {
      say(`${name}: ${e.message}`, true);
      ctx.draftSheet?.(text);
      return false;
    }
  };

  function ask() {
    replace(asked, offered ? sheetOffer() : null, waiting.length ? modesForm() : null, modeList(ctx));
    show();
    if (waiting.length) { el.scrollIntoView({ block: "nearest" }); asked.querySelector("input")?.focus({ preventScroll: true }); }
  }

  function sheetOffer() {
    const done = () => { offered = null; ask(); };
    return h("p", { class: "row", id: "sheet-offer" }, `This session has a sheet already; ${offered.name} was kept aside.`,
      h("button", { type: "button", onclick: async () => { if (await ctx.edit({ op: "sheet", base: ctx.view.revision, text: offered.text }, `With the sheet ${offered.name}.`)) done(); } }, "Take it instead"),
      h("button", { type: "button", class: "link", onclick: () => { ctx.draftSheet?.(offered.text); done(); } }, "Look at both"),
      h("button", { type: "button", class: "link", onclick: done }, "Leave it"));
  }

  function modesForm() {
    const name = waiting.length === 1 ? waiting[0].file.name : plural(waiting.length, "log");
    const all = modeField({ id: "ask-all", oninput: () => { for (const f of waiting) if (!f.own) { f.mode = all.value; if (f.input) f.input.value = all.value; } } });
    const close = () => { waiting = []; ask(); };
    const rows = waiting.length > many ? null : h("table", { class: "confirm ruled" },
      h("thead", {}, h("tr", {}, ["file", "mode", "by"].map((t) => h("th", { scope: "col" }, t)))),
      h("tbody", {}, waiting.map((f, i) => {
        f.input = modeField({ id: "ask-" + i, class: "mode", value: f.mode, "aria-label": "mode of " + f.file.name, oninput: () => { f.mode = f.input.value; f.own = true; } });
        return h("tr", {}, h("th", { scope: "row" }, f.file.name), h("td", {}, f.input), h("td", { class: "soft" }, { folder: "its folder", name: "its name" }[f.from] || ""));
      })));
    return h("form", { onsubmit: (e) => {
      e.preventDefault();
      for (const f of waiting) f.mode = f.mode.trim();
      const files = waiting;
      waiting = [];
      ask();
      ctx.uploads.add(files);
    } }, h("p", { class: "row" }, h("label", { for: "ask-all" }, waiting.some((f) => f.from) ? `The modes of ${name}, as their names say. One for all:` : `Drive mode of ${name}`), all, h("span", { class: "soft" }, "may be left empty and said later"),
      h("button", { type: "submit", class: "main" }, "Add " + name), h("button", { type: "button", class: "link", onclick: close }, "Leave them out")), rows);
  }

  ctx.uploads.onchange = () => { if (!ctx.gone) ctx.each((p) => p.uploads?.()); };
  ctx.uploads.ondone = (it, r) => {
    if (r.passed?.length) say(`${it.name}: ${plural(r.logs, "log")}; passed over ${r.passed.join("; ")}`);
    if (r.sheet) ctx.takeSheet(r.sheet, it.name + "/session.toml");
  };
  let frame = 0;
  return { el, uploads() { if (frame) return; frame = requestAnimationFrame(() => { frame = 0; if (!ctx.gone) show(); }); }, update: show };
}

function modeList(ctx) {
  return h("datalist", { id: "modes" }, ctx.view.modes.map((m) => h("option", { value: m })));
}

const active = (it) => it.state === "waiting" || it.state === "sending";

function drawUploads(ctx, list, items) {
  if (!items.length) return replace(list);
  const up = ctx.uploads, shown = items.slice(0, 12), broken = items.filter((i) => i.state !== "known" && !active(i) && i.file);
  replace(list, shown.map((it) => h("li", {},
    h("span", { class: "name" }, it.name),
    it.state === "sending" ? h("progress", { max: String(it.total || 1), value: it.done, "aria-label": "Bytes of " + it.name }) : null,
    h("span", { class: "soft" }, it.text || (it.state === "sending" ? `${bytes(it.done)} of ${bytes(it.total)}` : it.state === "waiting" ? "waits its turn" : it.state)),
    active(it) ? h("button", { type: "button", class: "link", id: "cancel-" + it.key, "aria-label": "Cancel " + it.name, onclick: () => up.cancel(it) }, "cancel") : null,
    !active(it) && it.file ? h("button", { type: "button", class: "link", id: "again-" + it.key, "aria-label": "Try again: " + it.name, onclick: () => up.again(it) }, "try again") : null)),
  items.length > shown.length ? h("li", { class: "soft" }, `and ${items.length - shown.length} more`) : null,
  h("li", { class: "row" }, items.some(active) ? h("button", { type: "button", class: "link", id: "cancel-all", onclick: () => items.filter(active).forEach((i) => up.cancel(i)) }, "Cancel all")
    : [broken.length > 1 ? h("button", { type: "button", class: "link", id: "again-all", onclick: () => broken.forEach((i) => up.again(i)) }, "Try all again") : null, h("button", { type: "button", class: "link", onclick: () => up.clear() }, "Clear this list")]));
}
