// One session as a test sheet: a head and numbered parts, kept up to date by
// the server's events.
import { h, replace, say } from "./dom.js";
import { get, post } from "./api.js";
import { accept, collect, sorted, Uploads } from "./drop.js";
import { head } from "./head.js";
import { logs } from "./logs.js";
import { runs } from "./runs.js";
import { overlay } from "./overlay.js";
import { table } from "./table.js";
import { compare } from "./compare.js";
import { why } from "./why.js";
import { report } from "./report.js";
import { sheet } from "./sheet.js";

let now = null; // the session shown
let handed = [];

/** hand gives files to the session that is shown next. */
export function hand(files) {
  handed = files;
}

export function leaveSession() {
  if (!now) return;
  now.source?.close();
  now.uploads.cancelAll();
  now.gone = true;
  now = null;
  accept(null);
}

export async function showSession(main, id) {
  const [view, limits] = await Promise.all([get("/api/sessions/" + id), get("/api/limits")]);
  const ctx = {
    id, view, limits, base: "/api/sessions/" + id, picked: new Set(), gone: false, compareExports: limits.exports.filter(([f]) => f.startsWith("compare.")),
    /** act posts an edit and shows what came of it. */
    async act(path, body, done) {
      try {
        const v = await post(ctx.base + path, body);
        ctx.take(v);
        if (done) say(done);
        return true;
      } catch (e) {
        say(e.message, true);
        if (e.status === 409) ctx.refresh();
        return false;
      }
    },
    edit: (body, done) => ctx.act("/edit", body, done),
    take(v) {
      if (ctx.gone) return;
      ctx.view = v;
      for (const p of parts) p.update?.(v);
      steps(ctx);
      document.title = v.title + " – fromrest";
    },
    /** refresh asks for the whole state, at most about once a second. */
    refresh() {
      if (ctx.waiting || ctx.gone) { ctx.again = true; return; }
      ctx.waiting = true;
      const wait = Math.max(0, (ctx.last || 0) + (ctx.view.runs.length > 200 ? 1500 : 400) - performance.now());
      setTimeout(async () => {
        ctx.last = performance.now();
        ctx.again = false;
        try { ctx.take(await get(ctx.base)); } catch (e) { if (!ctx.gone) say(e.message, true); }
        ctx.waiting = false;
        if (ctx.again) ctx.refresh();
      }, wait);
    },
    /** drop adds files; the mode of those in no folder of one is asked for. */
    drop(files) {
      if (!files.length) return;
      const { logs, sheet, over } = sorted(files, limits.datedFolder);
      if (over.length) say(`Passed over, no log: ${over.join(", ")}`);
      if (sheet) ctx.takeSheet(sheet);
      if (!logs.length) return;
      if (sheet || logs.every((f) => f.mode)) ctx.uploads.add(logs);
      else ctx.ask(logs);
      document.getElementById("logs")?.scrollIntoView({ block: "start" });
    },
    /** takeSheet takes up a sheet that was dropped, unless the session has one. */
    async takeSheet(file) {
      if (ctx.view.revision) return say(`This session has a sheet: ${file.name} was passed over.`, true);
      await ctx.edit({ op: "sheet", base: ctx.view.revision, text: await file.text() }, `With the sheet ${file.name}.`);
    },
    each(fn) { for (const p of parts) fn(p); },
  };
  const parts = [head(ctx), logs(ctx), runs(ctx), overlay(ctx), table(ctx), compare(ctx), why(ctx), report(ctx), sheet(ctx)];
  ctx.uploads = new Uploads(id, limits.maxLog, () => ctx.each((p) => p.uploads?.()));
  now = ctx;
  replace(main, h("article", { class: "sheet" }, parts.map((p) => p.el), cautions(view), foot(view, limits)));
  replace(document.getElementById("nav"), parts.filter((p) => p.nav).map((p) => h("a", { href: "#" + p.el.id, onclick: (e) => {
    e.preventDefault();
    p.el.scrollIntoView({ block: "start" });
    p.el.querySelector("h2").focus({ preventScroll: true });
  } }, p.nav)));
  ctx.take(view);
  accept(async (t) => ctx.drop(await collect(t)));
  listen(ctx);
  keys(ctx);
  const files = handed;
  handed = [];
  ctx.drop(files);
}

function connect(ctx) {
  ctx.source = new EventSource(ctx.base + "/events");
  let lost = false;
  ctx.source.onopen = () => { if (lost) ctx.refresh(); lost = false; };
  ctx.source.onerror = () => {
    if (!lost && !ctx.gone) say("The connection to the server was lost; trying again.", true);
    lost = true;
  };
  ctx.source.onmessage = (m) => {
    const e = JSON.parse(m.data);
    if (e.kind === "upload") ctx.uploads.told(e);
    else if (e.kind === "log") ctx.each((p) => p.log?.(e));
    else if (e.kind === "changed") ctx.refresh();
  };
}

function listen(ctx) {
  connect(ctx);
  // A browser allows few connections to one server: a sheet in the background
  // gives its own back and asks for the state when it is looked at again.
  document.addEventListener("visibilitychange", () => {
    if (ctx.gone) return;
    if (document.hidden) ctx.source.close();
    else if (ctx.source.readyState === EventSource.CLOSED) { connect(ctx); ctx.refresh(); }
  });
}

function steps(ctx) {
  const v = ctx.view;
  const button = (word, what, path) => h("button", { type: "button", class: "quiet", id: "step-" + word.toLowerCase(), disabled: !what,
    title: what ? `${word}: ${what}` : `Nothing to ${word.toLowerCase()}`,
    onclick: () => ctx.act(path, {}, `${word === "Undo" ? "Undone" : "Done again"}: ${what}`) }, word);
  replace(document.getElementById("steps"), button("Undo", v.undo, "/undo"), button("Redo", v.redo, "/redo"));
}

let bound = false;
function keys() {
  if (bound) return;
  bound = true;
  addEventListener("keydown", (e) => {
    if (!now || !(e.ctrlKey || e.metaKey) || e.key.toLowerCase() !== "z") return;
    if (/^(INPUT|TEXTAREA)$/.test(document.activeElement?.tagName) && document.activeElement.type !== "checkbox") return;
    e.preventDefault();
    document.getElementById(e.shiftKey ? "step-redo" : "step-undo")?.click();
  });
}

function cautions(v) {
  return h("section", { class: "cautions", "aria-labelledby": "cautions-h" },
    h("h2", { id: "cautions-h" }, "Before anybody drives"),
    h("ul", {}, v.cautions.map((c) => h("li", {}, c))));
}

function foot(v, limits) {
  return h("footer", { class: "foot soft" }, `Session ${v.id}, begun ${v.created} UTC. Made by ${v.madeBy}. Kept in ${limits.archive}.`);
}
