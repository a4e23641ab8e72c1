// Two sessions held against each other, as a rule the same vehicle on another day.
import { h, num, part, replace, say, sentence, wide } from "./dom.js";
import { get } from "./api.js";
import { query, remember } from "./address.js";

export function days(ctx) {
  const pick = h("select", { id: "days-with", onchange: () => { remember({ day: pick.value }); load(); } }, h("option", { value: "" }, "choose a session"));
  const body = h("div", { id: "days-body" });
  const el = part("days", "Beside another day", "the same vehicle in another session", h("p", { class: "row" }, h("label", { for: "days-with" }, "Held against"), pick), body);
  let listed = false, timer = 0, turn = 0;
  el.addEventListener("toggle", () => { if (el.open) list(); });

  async function list() {
    if (listed) return;
    listed = true;
    try {
      const all = (await get("/api/sessions")).filter((it) => it.id !== ctx.id && it.logs);
      const own = ctx.view.head.vehicle;
      all.sort((a, b) => (b.vehicle === own) - (a.vehicle === own));
      const called = (it) => [it.date, it.vehicle, it.untitled ? "" : it.title].filter(Boolean).join(", ") || "begun " + it.created;
      replace(pick, h("option", { value: "" }, all.length ? "choose a session" : "there is no other session"), all.map((it) => h("option", { value: it.id }, called(it))));
      const want = query().get("day");
      if (all.some((it) => it.id === want)) { pick.value = want; load(); }
    } catch (e) { listed = false; if (!ctx.gone) say(e.message, true); }
  }

  async function load() {
    clearTimeout(timer);
    const mine = ++turn;
    if (!pick.value) return replace(body);
    try {
      const d = await get(`${ctx.base}/days?with=${encodeURIComponent(pick.value)}`);
      if (ctx.gone || mine !== turn) return;
      if (d.pending) { replace(body, h("p", { class: "soft" }, `${d.pending} logs of the other session are being read.`)); timer = setTimeout(load, 1200); return; }
      replace(body, show(d));
    } catch (e) { if (!ctx.gone) say(e.message, true); }
  }
  return { el, nav: "Another day", update(v) {
    if (query().get("day") && !listed) { el.open = true; list(); } else if (pick.value && !v.pending) { clearTimeout(timer); timer = setTimeout(load, 400); }
  } };
}

function show(d) {
  if (d.why) return h("p", {}, sentence(d.why));
  const r = (...k) => h("td", { class: "r" }, k);
  return [
    h("ul", { class: "warnings" }, d.warnings.map((w) => h("li", {}, sentence(w)))),
    d.answer ? h("div", { class: "answer" }, h("h3", {}, "Modes, both days together"), h("p", { class: "soft" }, `At ${d.answer.place}; each day has a term of its own, so that a mode’s day does not pass for the mode.`),
      h("div", { class: "verdicts" }, d.answer.verdicts.map((t) => h("p", {}, sentence(t)))), h("ul", { class: "warnings" }, d.answer.warnings.map((w) => h("li", {}, w))), d.answer.notes.map((t) => h("p", {}, t)), h("p", { class: "soft" }, d.answer.model)) : h("p", { class: "soft" }, "Both days are of one mode: there are no modes to compare."),
    d.days.length ? [h("h3", {}, "Each mode, day against day"),
      h("p", {}, `At ${d.place}. Between two days everything may have changed at once: the vehicle, its load and tyres, the air, the surface, the driver. No verdict on that: ${[...new Set(d.days.map((m) => m.why).filter(Boolean))].join("; ") || "the runs are too few"}.`),
      wide("Each mode, day against day", h("table", { class: "ruled days" }, h("thead", {}, h("tr", {}, ["Mode", `${d.dates[0]}, s`, "runs", `${d.dates[1]}, s`, "runs", "Difference, s"].map((t, i) => h("th", { scope: "col", class: i ? "r" : "" }, t)))),
        h("tbody", {}, d.days.map((m) => h("tr", {}, h("th", { scope: "row" }, m.mode), m.on.map((o) => [r(num(o.twoway.v || o.mean.v, o.twoway.h || o.mean.h || "")), r(String(o.n))]), r(num(m.difference.v, m.difference.h || "")))))))]
      : h("p", { class: "soft" }, "No mode was driven on both days."),
  ];
}
