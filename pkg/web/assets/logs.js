// The logs of the session: what was found in each, its quality and problems.
import { asCommand } from "./command.js";
import { h, bytes, plural, replace, inSlices, part, modeField } from "./dom.js";
import { post } from "./api.js";
import { guess } from "./drop.js";
import { held } from "./held.js";
import { mapper } from "./mapper.js";

const words = { queued: "waits to be read", reading: "being read", done: "", failed: "gave nothing", cancelled: "reading cancelled" };

export function logs(ctx) {
  const list = h("ul", { class: "logs", "aria-label": "Logs of the session" });
  const sum = h("p", { class: "soft", id: "logs-sum" });
  const offer = h("p", { class: "row", id: "guess" });
  const twice = h("div", { id: "twice" });
  const el = part("logs", "Logs", "", sum, offer, twice, list, asCommand(ctx, () => "check"));
  const rows = new Map();

  return {
    el, nav: "Logs",
    update(v) {
      const failed = v.logs.filter((l) => l.state === "failed").length;
      sum.textContent = v.logs.length ? `${plural(v.logs.length, "log")}, ${plural(v.runs.length, "run")}` +
        (v.pending ? `, ${v.pending} still to be read` : "") + (failed ? `, ${failed} gave nothing` : "") : "No log yet.";
      el.querySelector(".says").textContent = v.logs.length ? sum.textContent : "";
      offerModes(ctx, offer, v);
      replace(twice, v.twice.map((p, i) => whichCounts(ctx, p, i)));
      list.classList.toggle("many", v.logs.length > 60);
      const keep = new Set(v.logs.map((l) => l.sha));
      for (const [sha, r] of rows) if (!keep.has(sha)) { r.el.remove(); rows.delete(sha); }
      inSlices("logs", v.logs, (l, i) => {
        if (rows.get(l.sha) && list.children[i] !== rows.get(l.sha).el && !rows.get(l.sha).el.contains(document.activeElement)) list.insertBefore(rows.get(l.sha).el, list.children[i] || null);
        const was = rows.get(l.sha);
        const text = JSON.stringify(l) + v.modes.length;
        if (was && was.text === text) return;
        if (was && was.el.contains(document.activeElement) && /^(INPUT|SELECT)$/.test(document.activeElement.tagName)) return;
        const open = was ? [...was.el.querySelectorAll("details")].filter((d) => d.open).map((d) => d.className) : [];
        const row = logRow(ctx, l);
        for (const d of row.querySelectorAll("details")) d.open = open.includes(d.className);
        if (was) was.el.replaceWith(row);
        else list.insertBefore(row, list.children[i] || null);
        rows.set(l.sha, { el: row, text });
      });
    },
    log(e) {
      const r = rows.get(e.key);
      if (!r) return;
      const state = r.el.querySelector(".state");
      const bar = r.el.querySelector("progress");
      if (bar) bar.value = e.done;
      if (state && e.state === "reading") state.textContent = `being read, ${bytes(e.done)} of ${bytes(e.total)}`;
      if (state && e.state === "done") state.textContent = e.text || plural(e.runs, "run") + " found";
    },
  };
}

const effects = { dropped: "lost", suspect: "doubtful", note: "note" };

function logRow(ctx, l) {
  const busy = l.state === "queued" || l.state === "reading";
  const mode = modeField({ id: "logmode-" + l.sha.slice(0, 12), class: "mode", value: l.mode, disabled: busy || !l.runs,
    "aria-label": "mode of all runs of " + l.name, onfocus: () => { seen = ctx.view; } });
  let seen = ctx.view; // when its user began
  const field = held(ctx, `${l.sha}/mode`, mode, l.mode, (value, was) => {
    const runs = ctx.view.runs.filter((r) => r.sha === l.sha && !r.witness).map((r) => r.id);
    const had = was === l.mode ? runs.map((id) => seen.runs.find((r) => r.id === id)?.mode ?? "") : null; // null once both texts were shown
    return post(ctx.base + "/edit", { op: "mode", runs, had, mode: value });
  }, (value) => `Mode of ${l.name}: ${value || "none"}`);
  const ask = (what) => () => ctx.act(`/logs/${l.sha}/${what}`);
  const state = l.state === "done" ? l.text || plural(l.runs, "run") + " found" : l.state === "failed" ? "gave nothing: " + l.text : words[l.state];
  const lost = l.problems.filter((p) => p.effect !== "note").reduce((n, p) => n + p.count, 0);
  return h("li", { class: "log " + l.state },
    h("div", { class: "line" },
      h("span", { class: "name" }, l.name), h("span", { class: "nb" }, h("label", { class: "soft", for: mode.id }, "mode"), " ", mode), field.note,
      h("span", { class: "soft size" }, bytes(l.bytes)),
      busy ? h("progress", { max: String(l.bytes || 1), value: l.done, "aria-label": "Bytes read of " + l.name }) : null,
      h("span", { class: "state" }, state),
      busy ? h("button", { type: "button", class: "link", "aria-label": "Cancel reading " + l.name, onclick: ask("cancel") }, "Cancel") : null,
      l.state === "cancelled" || l.state === "failed" ? h("button", { type: "button", class: "link", "aria-label": "Read again: " + l.name, onclick: ask("again") }, "Read again") : null),
    l.goes.length ? h("p", { class: "row" }, `Nothing but an accelerometer is in it; its clock lies about ${l.goes.join(", ")}.`,
      h("button", { type: "button", id: "goes-" + l.sha.slice(0, 12), onclick: () => ctx.edit({ op: "head", key: "with", value: l.name }, `The accelerometer of ${l.name} goes with the logs`) }, "Let it go with " + (l.goes.length === 1 ? "it" : "them"))) : null,
    l.table ? mapper(ctx, l) : null,
    h("details", { class: "quality" }, h("summary", {}, l.problems.length ? `Quality and problems (${lost ? lost + " records lost or doubtful" : plural(l.problems.length, "note")})` : "Quality"),
      l.facts.length ? h("dl", { class: "items" }, l.facts.map((f) => [h("dt", {}, f.name), h("dd", {}, f.text)])) : null,
      l.problems.length ? h("ul", { class: "problems" }, l.problems.map((p) => h("li", {}, h("b", {}, effects[p.effect] || p.effect), ` ${p.place}: ${p.text}` + (p.count > 1 ? ` (${p.count} such)` : "")))) : null,
      l.advice.length ? h("ul", {}, l.advice.map((a) => h("li", {}, a))) : null,
      h("p", { class: "soft sha" }, "SHA-256 ", l.sha),
      h("p", { class: "row" },
        h("button", { type: "button", class: "link", onclick: () => {
          if (confirm(`Take ${l.name} out of this session? Its bytes are deleted unless another session uses them.`)) ctx.act(`/logs/${l.sha}/remove`, {}, "Removed " + l.name);
        } }, "Remove from the session"))));
}

/** whichCounts asks which of two recordings of one drive counts, as the sheet has it. */
function whichCounts(ctx, p, i) {
  const [a, b] = p.logs;
  const choice = (value, text, on) => h("label", { for: `twice-${i}-${value}` }, h("input", { type: "radio", name: "twice-" + i, id: `twice-${i}-${value}`, checked: on,
    onchange: () => ctx.edit({ op: "recordings", runs: p.runs, value }, value === "both" ? `${a} and ${b} both count` : `${value === "first" ? a : b} counts`) }), " ", text);
  return h("fieldset", {}, h("legend", {}, `${a} and ${b} are recordings of the same ${plural(p.drives, "drive")}. Which counts?`),
    choice("first", `${a}${p.settled ? "" : ", whose times are the surer"}`, true), choice("second", b, false), choice("both", "both, as of two vehicles", false),
    p.settled ? null : h("button", { type: "button", class: "link", id: `twice-${i}-keep`, onclick: () => ctx.edit({ op: "recordings", runs: p.runs, value: "first" }, `${a} counts`) }, `leave it at ${a}`));
}

/** offerModes offers the stems of names as the modes of logs that have none. */
function offerModes(ctx, el, v) {
  const none = v.logs.filter((l) => l.runs && !v.runs.some((r) => r.sha === l.sha && r.mode));
  const modes = none.length > 1 && !v.pending ? guess(none, (l) => l.name) : [];
  el.hidden = !modes.some(Boolean);
  if (el.hidden) return replace(el);
  replace(el, `By their names the ${plural(none.length, "log")} without a mode are ${[...new Set(modes)].join(", ")}.`, h("button", { type: "button", id: "take-guess", onclick: async () => {
    for (const m of new Set(modes)) {
      const logs = none.filter((_, i) => modes[i] === m);
      const runs = ctx.view.runs.filter((r) => logs.some((l) => l.sha === r.sha) && !r.witness).map((r) => r.id);
      if (!await ctx.edit({ op: "mode", mode: m, runs, had: runs.map(() => "") }, "Modes by the names of the logs")) return;
    }
  } }, "Take these modes"));
}
