// Each run, with a small trace beside its numbers.
import { asCommand } from "./command.js";
import { h, s, num, plural, replace, inSlices, say, part, wide, modeField, slugOf } from "./dom.js";
import { post } from "./api.js";
import { keep, kept, forget, unsent } from "./typed.js";
import { held, resend } from "./held.js";

const kinds = { rolling: "rolling acceleration", braking: "braking" };

export function runs(ctx) {
  const body = h("tbody", { role: "rowgroup" });
  const headRow = h("tr", { role: "row" });
  const tbl = h("table", { class: "runs", role: "table" }, h("thead", { role: "rowgroup" }, headRow), body);
  const box = wide("Runs", tbl);
  const bulk = h("div", { class: "bulk row" });
  const none = h("p", { class: "soft" });
  const warnings = h("ul", { class: "warnings" });
  const el = part("runs", "Each run", "",
    h("p", { class: "soft lead-note" }, "Time in seconds ± half of the 95 % interval. From rest counts from the first motion, with rollout from 1 ft after it: two quantities, not two opinions."),
    none, bulk, box, warnings, asCommand(ctx, () => "runs"));
  const rows = new Map();
  let headed = "";

  const showBulk = () => {
    const ids = [...ctx.picked].filter((id) => ctx.view.runs.some((r) => r.id === id));
    let seen = ctx.view; // when its user began
    const begin = () => { seen = ctx.view; };
    const had = (of) => ids.map((id) => of(seen.runs.find((r) => r.id === id) || {}) ?? "");
    const mode = modeField({ id: "bulk-mode", onfocus: begin });
    const reason = h("input", { id: "bulk-reason", onfocus: begin, type: "text", maxlength: "200", autocomplete: "off" });
    replace(bulk, ids.length < 2 || !ctx.touched ? [] : [
      h("span", {}, plural(ids.length, "run") + " ticked:"),
      h("label", { for: "bulk-mode" }, "mode"), mode,
      h("button", { type: "button", onclick: () => ctx.edit({ op: "mode", runs: ids, had: had((r) => r.mode), mode: mode.value.trim() }, "Mode set") }, "Set"),
      h("label", { for: "bulk-reason" }, "reason"), reason,
      h("button", { type: "button", onclick: () => ctx.edit({ op: "exclude", runs: ids, had: had((r) => r.excluded), reason: reason.value.trim() }, "Excluded") }, "Exclude")]);
  };
  return {
    el, nav: "Runs",
    picked() {
      showBulk();
    },
    update(v) {
      none.textContent = v.runs.length ? "" : v.pending ? "The logs are being read." : v.logs.length ? "No run was found in the logs." : "Runs appear here as logs are read.";
      none.hidden = !none.textContent;
      el.querySelector(".says").textContent = v.runs.length ? `${plural(v.runs.length, "run")}, ${v.runs.filter((r) => r.counted).length} counted` : "";
      tbl.hidden = !v.runs.length;
      tbl.classList.toggle("many", v.runs.length > 60);
      replace(warnings, v.warnings.map((t) => h("li", {}, t)));
      const heads = JSON.stringify(v.leads);
      if (heads !== headed) { headed = heads; replace(headRow, heading(v)); rows.clear(); replace(body); }
      const keep = new Set(v.runs.map((r) => r.id));
      for (const [id, r] of rows) if (!keep.has(id)) { r.el.remove(); rows.delete(id); }
      inSlices("runs", v.runs, (r, i) => {
        const was = rows.get(r.id);
        if (was && body.children[i] !== was.el && !was.el.contains(document.activeElement)) body.insertBefore(was.el, body.children[i] || null);
        const text = JSON.stringify(r);
        if (was && (was.text === text || (was.el.contains(document.activeElement) && document.activeElement.matches("input[type=text]")))) return;
        const row = runRow(ctx, r, v);
        if (was) {
          const id = was.el.contains(document.activeElement) ? document.activeElement.id : "";
          was.el.replaceWith(row);
          if (id) document.getElementById(id)?.focus({ preventScroll: true });
        } else body.insertBefore(row, body.children[i] || null);
        rows.set(r.id, { el: row, text });
      }, 25).then((done) => done && resend(ctx));
    },
  };
}

function heading(v) {
  const th = (text, cls) => h("th", { scope: "col", role: "columnheader", class: cls }, text);
  return [th("Run"), th("Speed against time"), th("Mode"),
    ...v.leads.flatMap((n) => [th(n + ", from rest", "r"), th(n + ", with rollout", "r")]), th("State")];
}

function runRow(ctx, r, v) {
  const slug = slugOf(r.id);
  const cell = (label, cls, ...kids) => h("td", { role: "cell", class: cls, "data-label": label }, ...kids);
  const mode = modeField({ class: "mode", id: slug + "-mode", value: r.mode, disabled: !!r.witness, "aria-label": "Mode of " + r.id });
  const field = held(ctx, `${r.id}/mode`, mode, r.mode, (value, was) => post(ctx.base + "/edit", { op: "mode", runs: [r.id], had: [was], mode: value }),
    (value) => `Mode of ${r.id}: ${value || "none"}`);
  return h("tr", { role: "row", class: r.counted ? "" : "out", id: slug, "data-run": r.id },
    h("th", { role: "rowheader", scope: "row", class: "who" }, h("span", { class: "id" }, r.id),
      h("span", { class: "when" }, r.launch), r.heading ? h("span", { class: "when" }, "heading " + r.heading) : null),
    cell("", "pic", spark(r), h("span", { class: "soft max" }, `to ${r.max}` + (r.span ? ` in ${r.span} s` : ""))),
    cell("Mode", "", mode, field.note),
    ...r.leads.flatMap((pair, i) => [
      cell(v.leads[i] + ", from rest", "r", num(pair[0].v, pair[0].h || ""), doubt(pair[0])),
      cell(v.leads[i] + ", with rollout", "r", num(pair[1].v, pair[1].h || ""), doubt(pair[1]))]),
    cell("State", "verdict", state(ctx, r, slug), r.witness ? null : notes(ctx, r, slug)));
}

/** notes are what was noted of a run, and the blanks for it once they are opened. */
function notes(ctx, r, slug) {
  const have = ctx.limits.notes.filter((f) => r.notes?.[f.name]).map((f) => `${f.label.toLowerCase()} ${r.notes[f.name]} ${f.unit}`.trim());
  const lost = unsent(ctx.id);
  const box = h("details", { id: slug + "-notes", class: "noted", open: opened.has(r.id) || lost.some((n) => n.startsWith(r.id + "/") && !/\/(mode|exclude)$/.test(n)), ontoggle: () => { if (box.open) opened.add(r.id); else opened.delete(r.id); fill(); } }, h("summary", {}, have.length ? have.join(", ") : "note"));
  const fill = () => {
    if (!box.open || box.children.length > 1) return;
    box.append(h("div", { class: "fields" }, ctx.limits.notes.map((f) => {
      const was = r.notes?.[f.name] || "";
      const input = h("input", { id: `${slug}-${f.name}`, type: "text", inputmode: f.kind === "number" ? "decimal" : null, autocomplete: "off", maxlength: "200", value: was });
      const field = held(ctx, `${r.id}/${f.name}`, input, was, (value, saw) => post(ctx.base + "/edit", { op: "note", runs: [r.id], key: f.name, value, was: saw }), () => `${f.label} of ${r.id} is noted`);
      return h("div", { class: "field" }, h("label", { for: input.id }, f.label), h("span", { class: "with" }, input, f.unit ? h("span", { class: "soft" }, f.unit) : null), field.note);
    })));
  };
  fill();
  return box;
}
const opened = new Set();

const doubt = (n) => n.d ? h("span", { class: "soft doubt" }, n.d) : null;

function state(ctx, r, slug) {
  const box = h("div", { class: "state" });
  const flags = r.flags.length ? h("span", { class: "flags" }, r.flags.join("; ")) : null;
  const kind = kinds[r.kind] ? h("span", {}, kinds[r.kind]) : null;
  const rest = () => r.witness ? replace(box, h("span", { class: "why" }, r.witness), flags) : replace(box, kind,
    r.counted ? h("span", { class: "ok" }, "counted") : h("span", { class: "why" }, "not counted: " + (r.excluded || "no reason given")), flags,
    r.counted ? h("button", { type: "button", class: "link", id: slug + "-ex", "aria-label": "Exclude " + r.id, onclick: begin }, "Exclude…")
      : h("button", { type: "button", class: "link", id: slug + "-in", "aria-label": "Count again: " + r.id, onclick: () => ctx.edit({ op: "include", runs: [r.id], had: [r.excluded] }, "Counted again: " + r.id) }, "Count again"));
  const name = `${r.id}/exclude`; // what was typed stays in the browser until the run is excluded
  const cancel = () => { forget(ctx.id, name); rest(); };
  const ask = () => {
    const reason = h("input", { type: "text", id: slug + "-why", maxlength: "200", autocomplete: "off", placeholder: "such as: missed second gear", value: kept(ctx.id, name)?.value || "",
      oninput: () => keep(ctx.id, name, reason.value, r.excluded), onkeydown: (e) => { if (e.key === "Escape") cancel(); } });
    replace(box, h("form", { onsubmit: async (e) => {
      e.preventDefault();
      const why = reason.value.trim();
      if (!why) { say("A run is excluded with a reason.", true); return reason.focus(); }
      document.activeElement?.blur();
      if (await ctx.edit({ op: "exclude", runs: [r.id], had: [r.excluded], reason: why }, "Excluded " + r.id)) forget(ctx.id, name);
    } }, h("label", { for: reason.id }, "Why " + r.id + " must not count"), reason,
    h("span", { class: "row" }, h("button", { type: "submit" }, "Exclude"), h("button", { type: "button", class: "link", onclick: cancel }, "Cancel"))));
    return reason;
  };
  const begin = () => ask().focus();
  if (r.counted && kept(ctx.id, name)?.value) ask(); else rest();
  return box;
}

/** spark draws a run's speed in the space of a word. */
function spark(r) {
  const w = 100, t = 30, n = r.spark.length;
  const el = s("svg", { class: "spark", viewBox: `0 0 ${w} ${t}`, width: w, height: t, "aria-hidden": "true", focusable: "false" });
  el.append(s("line", { x1: 0, y1: t - 0.5, x2: w, y2: t - 0.5, class: "base" }));
  if (n > 1) {
    const pts = r.spark.map((y, i) => `${(i * w / (n - 1)).toFixed(1)},${(t - 1 - y * (t - 3) / 1000).toFixed(1)}`).join(" ");
    el.append(s("polyline", { points: pts }));
  }
  return el;
}
