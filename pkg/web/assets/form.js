// Blanks with units for what the logs cannot say, each with what it unlocks.
import { h, replace, say, part } from "./dom.js";
import { get, post } from "./api.js";
import { held, resend } from "./held.js";

export function form(ctx) {
  const body = h("div", {});
  const el = part("conditions", "Vehicle, conditions, targets", "", h("p", { class: "soft" }, "What the logs cannot say. Everything may be left empty; each blank is an entry of the sheet, which is beneath as text."), body);
  const blanks = new Map(); // by name
  let shown = "";

  async function load() {
    let r;
    try { r = await get(ctx.base + "/form"); } catch (e) { if (!ctx.gone) say(e.message, true); return; }
    if (ctx.gone) return;
    if (!blanks.size) build(r);
    for (const f of r.fields) blanks.get(f.name).take(f.value);
    resend(ctx);
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
    const b = held(ctx, f.name, input, f.value, (value, was) => post(ctx.base + "/edit", { op: "head", key: f.name, value, was }));
    blanks.set(f.name, b);
    return h("div", { class: "field" }, h("label", { for: id }, f.label), h("span", { class: "with" }, input, f.unit ? h("span", { class: "soft" }, f.unit) : null),
      f.unlocks ? h("small", { id: id + "-for" }, "for " + f.unlocks) : null, b.note);
  }

  return { el, nav: "Vehicle and conditions", update(v) {
    const mark = v.revision + "/" + (v.revision ? "" : v.runs.length + v.head.title);
    if (mark !== shown) { shown = mark; load(); }
  } };
}
