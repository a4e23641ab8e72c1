// One session as a test sheet: the answer, the figure, the runs, and folded beneath all
// that the report has, kept up to date by the server's events.
import { h, replace, say, press, leadTo } from "./dom.js";
import { get, post } from "./api.js";
import { query, remember } from "./address.js";
import { accept, collect, pickers } from "./drop.js";
import { uploadsOf } from "./uploads.js";
import { resend } from "./held.js";
import { unsent } from "./typed.js";
import { adding } from "./adding.js";
import { answer } from "./answer.js";
import { figure } from "./figure.js";
import { margin } from "./margin.js";
import { logs } from "./logs.js";
import { runs } from "./runs.js";
import { table } from "./table.js";
import { compare } from "./compare.js";
import { form } from "./form.js";
import { outside } from "./outside.js";
import { days } from "./days.js";
import { plan } from "./plan.js";
import { asCommand } from "./command.js";
import { why } from "./why.js";
import { report } from "./report.js";
import { sheet } from "./sheet.js";

let now = null; // the session shown
let handed = [];
const mostFirst = 40; // runs that are drawn without being asked for

/** hand gives files to the session that is shown next. */
export function hand(files) {
  handed = files;
}

export function leaveSession() {
  if (!now) return;
  now.source?.close();
  now.gone = true;
  for (const f of now.onleave) f();
  now = null;
  accept(null);
}

export async function showSession(main, id) {
  const [view, limits] = await Promise.all([get("/api/sessions/" + id), get("/api/limits")]);
  const ctx = context(id, view, limits);
  ctx.uploads = uploadsOf(id, limits.maxLog);
  const top = head(ctx), ask = adding(ctx), first = answer(ctx), fig = figure(ctx), side = margin(ctx);
  const beneath = [form(ctx), runs(ctx), table(ctx), compare(ctx), days(ctx), outside(ctx), why(ctx), logs(ctx), plan(ctx), report(ctx), sheet(ctx)];
  ctx.parts = [top, ask, first, fig, side, ...beneath];
  now = ctx;
  replace(main, h("div", { class: "page" }, top.el, h("div", { class: "text" }, ask.el, first.el, fig.el), side.el,
    h("div", { class: "parts" }, lines(ctx, beneath), beneath.map((p) => p.el), cautions(view), h("p", { class: "foot soft" }, `Session ${view.id}, begun ${view.created} UTC. Made by ${view.madeBy}. Kept in ${limits.archive}.`))));
  ctx.take(view);
  accept(async (t) => ctx.drop(await collect(t)));
  listen(ctx);
  keys();
  const files = handed;
  handed = [];
  ctx.drop(files);
}

function context(id, view, limits) {
  const q = query();
  const ctx = {
    id, view, limits, compareExports: limits.exports.filter(([f]) => f.startsWith("compare.")), base: "/api/sessions/" + id, gone: false, front: null, parts: [], onleave: [], commands: [], held: new Map(), sending: new Set(),
    picked: new Set(), touched: q.has("runs"), wanted: (q.get("runs") || "").split(" ").filter(Boolean), hiddenModes: new Set((q.get("off") || "").split("\u0001").filter(Boolean)),
    each(fn) { for (const p of ctx.parts) fn(p); },
    /** act posts an edit and shows what came of it. */
    async act(path, body, done) {
      try {
        ctx.take(await post(ctx.base + path, body));
        if (done) say(done);
        return true;
      } catch (e) {
        say(e.message, true);
        if (e.status === 409) ctx.refresh();
        return false;
      }
    },
    edit: (body, done) => ctx.act("/edit", body, done),
    /** unsent are the fields of which the server has not got what was typed. */
    unsent: () => unsent(id).filter((f) => ctx.held.has(f)).map((f) => ctx.held.get(f).input.id),
    lost(e) { say(e.message, true); },
    take(v) {
      if (ctx.gone) return;
      ctx.view = v;
      choose(ctx, v);
      ctx.each((p) => p.update?.(v));
      for (const f of ctx.commands) f();
      for (const [name, f] of ctx.held) if (!f.input.isConnected) ctx.held.delete(name);
      document.title = (v.head.title || v.title).replace(/[\u202a-\u202e\u2066-\u2069]/g, "") + " – fromrest";
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
    pick: (run, on) => ctx.pickAll([run], on),
    pickAll(ids, on) {
      ctx.touched = true;
      for (const x of ids) if (on) ctx.picked.add(x); else ctx.picked.delete(x);
      for (const r of ctx.view.runs) if (on && ids.includes(r.id)) ctx.hiddenModes.delete(r.mode);
      ctx.keepPicks();
      ctx.each((p) => p.picked?.());
    },
    /** alone shows one run, or one mode with its runs, and nothing else. */
    alone(it) {
      ctx.hiddenModes = new Set(ctx.view.lines.modes.map((l) => l.mode).filter((m) => !it.mean || m !== it.mode));
      ctx.picked = new Set(it.run ? [it.run] : ctx.view.runs.filter((r) => r.mode === it.mode && r.counted).map((r) => r.id));
      ctx.touched = true;
      ctx.keepPicks();
      ctx.each((p) => p.picked?.());
    },
    keepPicks() {
      const every = ctx.view.runs.filter((r) => ctx.first(r)).map((r) => r.id);
      const same = every.length === ctx.picked.size && every.every((x) => ctx.picked.has(x));
      remember({ runs: same ? "" : [...ctx.picked].map(encodeURIComponent).join(" ") || "-", off: [...ctx.hiddenModes].join("\u0001") });
    },
    /** first says whether a run is drawn without being asked for. */
    first: (r) => r.counted && r.kind === "standing-start" && !r.witness,
  };
  return ctx;
}

/** choose ticks the runs that the address names, or all that count unless they are many. */
function choose(ctx, v) {
  const have = new Set(v.runs.map((r) => r.id));
  for (const id of [...ctx.picked]) if (!have.has(id)) ctx.picked.delete(id);
  if (ctx.wanted.length) {
    for (const id of ctx.wanted.map(decodeURIComponent)) if (have.has(id)) ctx.picked.add(id);
    if (!v.pending) ctx.wanted = [];
  } else if (!ctx.touched) {
    const first = v.runs.filter(ctx.first);
    ctx.picked = new Set(first.length <= mostFirst ? first.map((r) => r.id) : []);
  }
}

/** head is the title line: vehicle, place and date, by the sheet and by the logs. */
function head(ctx) {
  const title = h("h1", {}), facts = h("p", { class: "facts" }), note = h("p", { class: "note", id: "wrong", hidden: true, role: "status" });
  const older = h("p", { class: "note", id: "older", hidden: true });
  const steps = h("span", { class: "row" });
  const el = h("header", { class: "head", id: "head" }, h("nav", { class: "folio", "aria-label": "Sheet" }, h("span", { class: "kind" }, "Test sheet"), h("a", { href: "#/" }, "Sessions"), pickers((f) => ctx.drop(f), true), steps,
    press("Print or export", () => leadTo("report"))), title, facts, note, older);
  const step = (word, what, path) => h("button", { type: "button", class: "link", id: "step-" + word.toLowerCase(), disabled: !what, title: what ? `${word}: ${what}` : `Nothing of yours to ${word.toLowerCase()}`,
    onclick: () => ctx.act(path, {}, `${word === "Undo" ? "Undone" : "Done again"}: ${what}`) }, word);
  return { el, update(v) {
    title.textContent = "";
    title.append(h("span", {}, v.head.title));
    const date = when(v);
    const known = [v.head.vehicle, v.head.mass, v.head.place, date].filter(Boolean);
    replace(facts, known.length ? known.map((t) => h("span", { class: t === v.head.mass ? "mass" : null }, t)) : h("span", { class: "soft" }, "vehicle, place and date are not known yet"));
    replace(steps, step("Undo", v.undo, "/undo"), step("Redo", v.redo, "/redo"));
    note.hidden = !v.wrong || ctx.uploads.busy;
    note.textContent = v.wrong ? "The sheet does not apply as it stands: " + v.wrong : "";
    older.hidden = !v.older;
    older.textContent = v.older;
  }, uploads() { note.hidden = !ctx.view.wrong || ctx.uploads.busy; } };
}

/** when is the day of driving and the times of the first and the last launch, or the days. */
function when(v) {
  const dated = v.runs.map((r) => r.launch.split(" ")).filter((t) => t.length > 1);
  if (!dated.length) return v.head.date;
  const [first, last] = [dated[0], dated.at(-1)];
  if (first[0] !== last[0]) return `${first[0]} to ${last[0]}`;
  return `${v.head.date || first[0]}, ${first[1].slice(0, 5)}–${last[1].slice(0, 5)} ${first[2] || ""}`;
}

/** lines close the first screen: conditions, the command, the cautions, and what is beneath. */
function lines(ctx, parts) {
  const conditions = h("span", {});
  const el = h("div", { class: "end" },
    h("p", { class: "line" }, h("b", {}, "Conditions"), conditions, " ", press("edit", () => leadTo("conditions"))),
    asCommand(ctx, () => "report -o report.html", "command"),
    h("p", { class: "line" }, h("b", {}, "Cautions"), `${ctx.view.cautions[0]} `, press("all cautions", () => leadTo("cautions"))),
    h("p", { class: "line beneath" }, h("b", {}, "Beneath"), parts.filter((p) => p.nav).map((p) => [press(p.nav, () => leadTo(p.el.id), { id: "to-" + p.el.id }), " "])));
  ctx.parts.push({ update(v) { conditions.textContent = v.head.conditions || "not said"; } });
  return el;
}

function cautions(v) {
  return h("section", { class: "cautions", id: "cautions", "aria-labelledby": "cautions-h" }, h("h2", { id: "cautions-h" }, "Before anybody drives"), h("ul", {}, v.cautions.map((c) => h("li", {}, c))));
}

function connect(ctx) {
  ctx.source = new EventSource(ctx.base + "/events");
  let lost = false;
  ctx.source.onopen = () => { if (lost) { ctx.refresh(); resend(ctx); } lost = false; };
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
