// The margin: open questions, a line each, and the runs by mode.
import { h, s, replace, press, leadTo, plural, slugOf } from "./dom.js";
import { key, mark } from "./answer.js";
import { wordColour, whenLooksChange } from "./colours.js";

const mostListed = 24; // above it a mode's runs are folded
const mostAsked = 3;

export function margin(ctx) {
  const asked = h("ul", { class: "open", id: "open-questions" });
  const askedHead = h("h2", {}, "Open"), runsHead = h("h2", {}, "Runs ", h("small", {}, "tick: shown in the figure"));
  const groups = h("div", { id: "run-groups" });
  const marks = h("div", { class: "marks" });
  const el = h("aside", { class: "margin", "aria-label": "Open questions and runs" }, askedHead, asked,
    runsHead, groups, marks);
  let all = false, folded = new Map();

  const questions = (v) => {
    const out = [];
    const ask = (text, f) => out.push([text, f]);
    const lost = ctx.uploads.items.filter((i) => i.state === "failed" && i.file).length;
    if (lost) ask(plural(lost, "upload") + " broke off: try again?", () => leadTo("adding"));
    const typed = ctx.unsent();
    if (typed.length) ask("What was typed is not with the server yet", () => leadTo(typed[0]));
    if (v.wrong) ask("The sheet does not fit the logs", () => leadTo("sheet"));
    const none = v.logs.filter((l) => l.runs && !l.mode && v.runs.some((r) => r.sha === l.sha && !r.mode && r.kind !== "braking"));
    if (none.length) ask(none.length === 1 ? "1 log needs a mode" : none.length + " logs need a mode", () => leadTo(none.length ? "logmode-" + none[0].sha.slice(0, 12) : "logs"));
    const failed = v.logs.filter((l) => l.state === "failed" && !l.table && !l.goes.length).length;
    if (failed) ask(plural(failed, "log") + " gave nothing", () => leadTo("logs"));
    const twice = v.twice.filter((p) => !p.settled);
    if (twice.length) ask(twice.length === 1 ? `${twice[0].logs.join(" and ")} recorded ${plural(twice[0].drives, "drive")}: which counts?` : `${twice.length} pairs of logs recorded the same drives: which count?`, () => leadTo("twice"));
    const alone = v.logs.filter((l) => l.goes.length);
    for (const l of alone) ask(`${l.name} is an accelerometer alone: does it go with ${l.goes.join(", ")}?`, () => leadTo("goes-" + l.sha.slice(0, 12)));
    const table = v.logs.find((l) => l.state === "failed" && l.table);
    if (table) ask(`What are the columns of ${table.name}?`, () => leadTo("columns-" + table.sha.slice(0, 12)));
    const out1 = v.runs.filter((r) => !r.counted && !r.witness && r.kind !== "braking");
    for (const m of new Set(out1.map((r) => r.mode))) {
      const of = out1.filter((r) => r.mode === m);
      ask(`${plural(of.length, "run")}${m ? " of " + m : ""} left out: do you agree?`, () => leadTo(slugOf(of[0].id)));
    }
    if (v.older) ask("Another version found other times", () => leadTo("report"));
    if (v.runs.length && !v.head.vehicle) ask("Which vehicle? The sheet says none", () => leadTo("head-vehicle"));
    return out;
  };

  const showQuestions = () => {
    const out = questions(ctx.view);
    askedHead.hidden = asked.hidden = !out.length;
    const shown = all ? out : out.slice(0, mostAsked);
    replace(asked, shown.map(([text, f]) => h("li", {}, press(text, f))),
      out.length > shown.length ? h("li", {}, press(`${out.length - shown.length} more`, () => { all = true; showQuestions(); })) : null);
  };

  let drawn = "";
  const showRuns = () => {
    const v = ctx.view, f = ctx.front;
    const now = JSON.stringify([v.runs.map((r) => [r.id, r.mode, r.counted, r.excluded, r.witness]), f, v.lines.modes, [...ctx.picked]]);
    if (now === drawn) return;
    drawn = now;
    runsHead.hidden = marks.hidden = !v.runs.length;
    const times = new Map((f?.modes || []).flatMap((m) => m.runs.map((r) => [r.id, r])));
    const runs = v.runs.filter((r) => r.kind !== "braking");
    const names = [...new Set([...v.lines.modes.map((l) => l.mode), ...runs.map((r) => r.mode)])];
    const many = runs.length > mostListed;
    const byLog = !runs.some((r) => r.mode);
    replace(groups, names.map((m, i) => {
      const of = runs.filter((r) => (byLog ? r.log : r.mode) === m).sort((a, b) => (a.launch < b.launch ? -1 : 1));
      if (!of.length) return null;
      const line = v.lines.modes.find((l) => l.mode === m);
      const name = h("b", {}, m || "no mode");
      if (line) name.style.color = wordColour(line);
      const on = of.filter((r) => ctx.picked.has(r.id)).length;
      const out = of.filter((r) => !r.counted).length;
      const box = h("input", { type: "checkbox", id: "group-" + i, checked: on > 0, "aria-label": `all runs of ${m || "no mode"} in the figure`,
        onchange: () => ctx.pickAll(of.filter((r) => r.counted || !box.checked).map((r) => r.id), box.checked) });
      box.indeterminate = on > 0 && on < of.length - out;
      const rows = (which) => h("ul", { class: "runlist" }, which.map((r) => row(ctx, v, r, times.get(r.id), line)));
      const head = h("div", { class: "group" }, box, key(line), name, h("small", {}, many ? `${of.length}${out ? `, ${out} out` : ""}` : ""));
      if (!many) return [head, rows(of)];
      const chosen = ctx.touched ? of.filter((r) => ctx.picked.has(r.id)).slice(0, mostListed) : [];
      const d = h("details", { class: "many", open: folded.get(m) ?? false, ontoggle: () => { folded.set(m, d.open); if (d.open && d.children.length < 2) d.append(rows(of)); } }, h("summary", {}, "each"), folded.get(m) ? rows(of) : null);
      return [head, folded.get(m) || !chosen.length ? null : rows(chosen), d];
    }));
    const way = (text, counted, w) => text ? h("p", {}, s("svg", { width: 16, height: 10, viewBox: "0 0 16 10", "aria-hidden": "true" }, mark(5, 5, 3.1, counted, w, null)), text) : null;
    replace(marks, f && runs.length ? [way(f.ways[0] && "towards " + f.ways[0], true, 0), way(f.ways[1] && "towards " + f.ways[1], true, 1), way(runs.some((r) => !r.counted) && "left out of the means", false, 0)] : null);
  };
  const show = () => { if (ctx.view) { showQuestions(); showRuns(); } };
  whenLooksChange(ctx, () => { drawn = ""; show(); });
  return { el, update: show, front: show, picked: showRuns, uploads: showQuestions, typed: showQuestions };
}

function row(ctx, v, r, t, line) {
  const slug = slugOf(r.id);
  const box = h("input", { type: "checkbox", checked: ctx.picked.has(r.id), id: "pick-" + slug, disabled: !r.spark.length, "data-pick": r.id,
    "aria-label": `${r.id}${r.mode ? ", " + r.mode : ""}${r.heading ? ", towards " + r.heading : ""} in the figure`, onchange: () => ctx.pick(r.id, box.checked) });
  return h("li", { class: r.counted ? "" : "out" }, box,
    s("svg", { width: 14, height: 12, viewBox: "0 0 14 12", "aria-hidden": "true" }, mark(6, 7, 3.1, r.counted, r.way, line)),
    h("span", {}, r.heading || "–"),
    h("span", {}, t?.v ? [h("span", { class: "t" }, t.v), h("span", { class: "pm" }, t.h ? " ± " + t.h : "")] : h("span", { class: "pm" }, r.counted ? "not reached" : "")),
    press(r.clock, () => leadTo(slug), { class: "link clk", "aria-label": `${r.id}, launched ${r.launch}: its mode, times and flags` }),
    r.counted && !t?.d ? null : h("span", { class: "reason" }, r.witness || (r.counted ? t.d : "out: " + (r.excluded || "no reason given")), " ",
      r.counted || r.witness ? null : press("count it", () => ctx.edit({ op: "include", runs: [r.id], had: [r.excluded] }, "Counted again: " + r.id), { "aria-label": "count it: " + r.id })));
}
