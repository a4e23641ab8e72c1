// Blanks with units for what the logs cannot say, each with what it unlocks.
import { h, replace, say, part } from "./dom.js";
import { get, post } from "./api.js";
import { keep, kept, forget, unsent } from "./typed.js";

export function form(ctx) {
  const body = h("div", {});
  const el = part("conditions", "Vehicle, conditions, targets", "", h("p", { class: "soft" }, "What the logs cannot say. Everything may be left empty; each blank is an entry of the sheet, which is beneath as text."), body);
  const blanks = new Map(); // by name: {input, value, note}
  let shown = "", sending = false;

  ctx.unsent = () => unsent(ctx.id).some((f) => blanks.has(f));

  async function load() {
    let r;
    try { r = await get(ctx.base + "/form"); } catch (e) { if (!ctx.gone) say(e.message, true); return; }
    if (ctx.gone) return;
    if (!blanks.size) build(r);
    for (const f of r.fields) {
      const b = blanks.get(f.name), own = kept(ctx.id, f.name);
      b.value = f.value;
      if (own && own.value !== f.value) { if (document.activeElement !== b.input) b.input.value = own.value; continue; }
      if (own) forget(ctx.id, f.name);
      const idle = document.activeElement !== b.input;
      if (idle) b.input.value = f.value;
      if (idle || b.input.value === b.sent) b.seen = f.value;
      b.note.hidden = true;
    }
    resend();
  }

  function build(r) {
    const parts = [...new Set(r.fields.map((f) => f.part))];
    replace(body, parts.map((p) => [h("h3", {}, p), h("div", { class: "fields" }, r.fields.filter((f) => f.part === p).map((f) => blank(f, r.known)))]),
      h("datalist", { id: "known-targets" }, r.known.map((t) => h("option", { value: t }))));
  }

  function blank(f, known) {
    const id = (f.part === "Session" || f.name === "vehicle" || f.name === "surface" ? "head-" : "form-") + f.name;
    const props = { id, autocomplete: "off", maxlength: "1000", "aria-describedby": f.unlocks ? id + "-for" : null };
    const input = f.kind === "choice" ? h("select", props, h("option", { value: "" }, "not said"), f.choices.map((c) => h("option", { value: c }, c)))
      : h("input", { ...props, type: f.kind === "date" ? "date" : "text", inputmode: f.kind === "number" ? "decimal" : null, list: f.name === "target" ? "known-targets" : null });
    const note = h("div", { class: "kept", hidden: true, role: "status" });
    // value is what the server has, seen what its user saw last of that, sent what went last.
    const b = { input, value: f.value, seen: f.value, sent: null, note };
    blanks.set(f.name, b);
    const hold = () => keep(ctx.id, f.name, input.value, kept(ctx.id, f.name)?.was ?? b.seen);
    input.addEventListener("input", () => { hold(); ctx.each((p) => p.typed?.()); });
    input.addEventListener("change", () => { hold(); send(f.name); });
    input.addEventListener("keydown", (e) => { if (e.key === "Escape") { input.value = b.seen = b.value; forget(ctx.id, f.name); b.note.hidden = true; ctx.each((p) => p.typed?.()); } });
    return h("div", { class: "field" }, h("label", { for: id }, f.label), h("span", { class: "with" }, input, f.unit ? h("span", { class: "soft" }, f.unit) : null),
      f.unlocks ? h("small", { id: id + "-for" }, "for " + f.unlocks) : null, note);
  }

  /** send gives a field to the server. What it does not acknowledge stays in the browser. */
  async function send(name) {
    const b = blanks.get(name), own = kept(ctx.id, name);
    if (!own || own.value.trim() === b.value) { forget(ctx.id, name); b.note.hidden = true; return ctx.each((p) => p.typed?.()); }
    const tell = (...children) => { replace(b.note, ...children); b.note.hidden = false; };
    try {
      const v = await post(ctx.base + "/edit", { op: "head", key: name, value: own.value.trim(), was: own.was });
      if (kept(ctx.id, name)?.value === own.value) forget(ctx.id, name);
      b.value = own.value.trim();
      b.sent = own.value;
      b.note.hidden = true;
      ctx.take(v);
    } catch (e) {
      if (e.status === 409 && e.now !== undefined) return conflict(b, name, own, e.now, tell);
      if (e.status === 409) return ctx.refresh();
      tell(e.status ? e.message : "Not with the server yet; kept here, and sent when it is back.");
      if (e.status) say(e.message, true);
    }
    ctx.each((p) => p.typed?.());
  }

  /** conflict shows both texts where another page changed the field meanwhile. */
  function conflict(b, name, own, now, tell) {
    const done = (value) => { b.value = b.seen = now; b.input.value = value; };
    tell(h("span", {}, `Changed meanwhile to “${now}”; yours is “${own.value.trim()}”. `),
      h("button", { type: "button", class: "link", id: "theirs-" + name, onclick: () => { forget(ctx.id, name); done(now); b.note.hidden = true; ctx.refresh(); } }, "keep theirs"), " ",
      h("button", { type: "button", class: "link", id: "mine-" + name, onclick: () => { keep(ctx.id, name, own.value, now); done(own.value); send(name); } }, "take mine"));
    b.value = now;
    ctx.each((p) => p.typed?.());
  }

  async function resend() {
    if (sending) return;
    sending = true;
    for (const name of unsent(ctx.id)) if (blanks.has(name) && document.activeElement !== blanks.get(name).input && blanks.get(name).note.querySelector("button") === null) await send(name);
    sending = false;
  }

  return { el, nav: "Vehicle and conditions", reached: resend, update(v) {
    const mark = v.revision + "/" + (v.revision ? "" : v.runs.length + v.head.title);
    if (mark !== shown) { shown = mark; load(); }
  } };
}
