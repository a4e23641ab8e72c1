// Part 1: the logs, on their way and there.
import { h, bytes, plural, replace, inSlices, part, modeField } from "./dom.js";
import { pickers } from "./drop.js";

const words = { queued: "waits to be read", reading: "being read", done: "", failed: "gave nothing", cancelled: "reading cancelled" };

export function logs(ctx) {
  const asked = h("div", { class: "ask", hidden: true });
  const sending = h("ul", { class: "sending", "aria-label": "Logs being added" });
  const list = h("ul", { class: "logs", "aria-label": "Logs of the session" });
  const sum = h("p", { class: "soft", id: "logs-sum" });
  const el = part("logs", "1", "Logs",
    h("div", { class: "drop small" }, h("p", {}, "Drop logs or folders anywhere on the page. The name of a folder in the folder dropped is the mode of its logs, unless it is a date; a session.toml beside them is taken up."), pickers((f) => ctx.drop(f))),
    asked, sending, sum, list);
  const rows = new Map();

  ctx.ask = (files) => askMode(ctx, asked, files);

  return {
    el, nav: "Logs",
    uploads() { showUploads(ctx, sending); },
    update(v) {
      const failed = v.logs.filter((l) => l.state === "failed").length;
      sum.textContent = v.logs.length ? `${plural(v.logs.length, "log")}, ${plural(v.runs.length, "run")}` +
        (v.pending ? `, ${v.pending} still to be read` : "") + (failed ? `, ${failed} gave nothing` : "") : "No log yet.";
      list.classList.toggle("many", v.logs.length > 60);
      const keep = new Set(v.logs.map((l) => l.sha));
      for (const [sha, r] of rows) if (!keep.has(sha)) { r.el.remove(); rows.delete(sha); }
      inSlices("logs", v.logs, (l, i) => {
        if (rows.get(l.sha) && list.children[i] !== rows.get(l.sha).el && !rows.get(l.sha).el.contains(document.activeElement)) list.insertBefore(rows.get(l.sha).el, list.children[i] || null);
        const was = rows.get(l.sha);
        const text = JSON.stringify(l) + v.modes.length;
        if (was && was.text === text) return;
        if (was && was.el.contains(document.activeElement) && document.activeElement.tagName === "INPUT") return;
        const open = was?.el.querySelector("details")?.open;
        const row = logRow(ctx, l);
        if (open && row.querySelector("details")) row.querySelector("details").open = true;
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
      if (state && e.state === "done") state.textContent = plural(e.runs, "run") + " found";
    },
  };
}

/** askMode asks which mode dropped logs were driven in. */
function askMode(ctx, el, files) {
  const one = files.filter((f) => !f.mode);
  const name = one.length === 1 ? one[0].file.name : plural(one.length, "log");
  const inputs = [];
  const all = modeField({ id: "ask-all", oninput: () => { for (const i of inputs) if (!i.dataset.own) i.value = all.value; } });
  const each = one.length > 1 && one.length <= 30 ? h("details", {}, h("summary", {}, "Each its own"),
    h("div", { class: "each" }, one.map((f, i) => {
      const input = modeField({ id: "ask-" + i, oninput: () => { input.dataset.own = "1"; } });
      inputs.push(input);
      return h("div", {}, h("label", { for: input.id }, f.file.name), input);
    }))) : null;
  const close = () => { el.hidden = true; replace(el); };
  const form = h("form", { onsubmit: (e) => {
    e.preventDefault();
    one.forEach((f, i) => { f.mode = (inputs[i] ? inputs[i].value : all.value).trim(); });
    close();
    ctx.uploads.add(files);
  } },
  h("p", {}, h("label", { for: "ask-all" }, `Drive mode of ${name}`), " ", all, " ", h("span", { class: "soft" }, "may be left empty and said later")),
  each, modeList(ctx),
  h("p", { class: "row" }, h("button", { type: "submit", class: "main" }, "Add " + name), h("button", { type: "button", onclick: close }, "Cancel")));
  replace(el, form);
  el.hidden = false;
  all.focus();
}

function modeList(ctx) {
  return h("datalist", { id: "modes" }, ctx.view.modes.map((m) => h("option", { value: m })));
}

function showUploads(ctx, list) {
  if (showUploads.frame) return;
  showUploads.frame = requestAnimationFrame(() => {
    showUploads.frame = 0;
    if (!ctx.gone) drawUploads(ctx, list);
  });
}

function drawUploads(ctx, list) {
  const items = ctx.uploads.items.filter((i) => i.state !== "stored");
  if (!items.length) return replace(list);
  const active = (it) => it.state === "waiting" || it.state === "sending";
  const shown = items.slice(0, 12);
  replace(list, shown.map((it) => h("li", {},
    h("span", { class: "name" }, it.name),
    it.state === "sending" ? h("progress", { max: String(it.total || 1), value: it.done, "aria-label": "Bytes of " + it.name }) : null,
    h("span", { class: "state" }, it.text || (it.state === "sending" ? `${bytes(it.done)} of ${bytes(it.total)}` : "waits its turn")),
    active(it) ? h("button", { type: "button", class: "quiet", id: "cancel-" + it.key, "aria-label": "Cancel " + it.name, onclick: () => ctx.uploads.cancel(it) }, "Cancel") : null)),
  items.length > shown.length ? h("li", { class: "soft" }, `and ${items.length - shown.length} more`) : null,
  h("li", { class: "row" }, items.some(active) ? h("button", { type: "button", id: "cancel-all", onclick: () => ctx.uploads.cancelAll() }, "Cancel all")
    : h("button", { type: "button", class: "quiet", onclick: () => ctx.uploads.clear() }, "Clear this list")));
}

const effects = { dropped: "lost", suspect: "doubtful", note: "note" };

function logRow(ctx, l) {
  const busy = l.state === "queued" || l.state === "reading";
  const mode = modeField({ id: "logmode-" + l.sha.slice(0, 12), class: "mode", value: l.mode, disabled: busy || !l.runs,
    "aria-label": "mode of all runs of " + l.name,
    onchange: () => ctx.edit({ op: "mode", runs: ctx.view.runs.filter((r) => r.sha === l.sha).map((r) => r.id), mode: mode.value.trim() }, `Mode of ${l.name}: ${mode.value.trim() || "none"}`) });
  const post = (what) => () => ctx.act(`/logs/${l.sha}/${what}`);
  const state = l.state === "done" ? plural(l.runs, "run") + " found" : l.state === "failed" ? "gave nothing: " + l.text : words[l.state];
  const lost = l.problems.filter((p) => p.effect !== "note").reduce((n, p) => n + p.count, 0);
  return h("li", { class: "log " + l.state },
    h("div", { class: "line" },
      h("span", { class: "name" }, l.name), h("span", { class: "pair" }, h("label", { class: "soft", for: mode.id }, "mode"), " ", mode),
      h("span", { class: "soft size" }, bytes(l.bytes)),
      busy ? h("progress", { max: String(l.bytes || 1), value: l.done, "aria-label": "Bytes read of " + l.name }) : null,
      h("span", { class: "state" }, state),
      busy ? h("button", { type: "button", class: "quiet", "aria-label": "Cancel reading " + l.name, onclick: post("cancel") }, "Cancel") : null,
      l.state === "cancelled" || l.state === "failed" ? h("button", { type: "button", class: "quiet", "aria-label": "Read again: " + l.name, onclick: post("again") }, "Read again") : null),
    h("details", {}, h("summary", {}, l.problems.length ? `Quality and problems (${lost ? lost + " records lost or doubtful" : plural(l.problems.length, "note")})` : "Quality"),
      l.facts.length ? h("dl", { class: "facts" }, l.facts.map((f) => [h("dt", {}, f.name), h("dd", {}, f.text)])) : null,
      l.problems.length ? h("ul", { class: "problems" }, l.problems.map((p) => h("li", {}, h("b", {}, effects[p.effect] || p.effect), ` ${p.place}: ${p.text}` + (p.count > 1 ? ` (${p.count} such)` : "")))) : null,
      l.advice.length ? h("ul", {}, l.advice.map((a) => h("li", {}, a))) : null,
      h("p", { class: "soft sha" }, "SHA-256 ", l.sha),
      h("p", { class: "row" }, h("a", { class: "button", href: `${ctx.base}/logs/${l.sha}`, download: l.name }, "Save the log"),
        h("button", { type: "button", class: "quiet", onclick: () => {
          if (confirm(`Take ${l.name} out of this session? Its bytes are deleted unless another session uses them.`)) ctx.act(`/logs/${l.sha}/remove`, {}, "Removed " + l.name);
        } }, "Remove from the session"))));
}
