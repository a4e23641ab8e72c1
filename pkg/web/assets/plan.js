// Planning runs: a card to print, how far the plan is driven, and what is left.
import { asCommand, word } from "./command.js";
import { h, replace, part, plural } from "./dom.js";

export function plan(ctx) {
  const modes = h("input", { id: "plan-modes", name: "list", type: "text", autocomplete: "off" });
  const number = (id, label, unit, more) => h("div", { class: "field" }, h("label", { for: id }, label), h("span", { class: "with" }, h("input", { id, type: "text", inputmode: "decimal", autocomplete: "off", ...more }), h("span", { class: "soft" }, unit)));
  const go = (sheet) => () => {
    const q = new URLSearchParams({ modes: modes.value.split(",").map((m) => m.trim()).join("\n") });
    for (const k of ["runs", "smallest", "scatter"]) { const v = document.getElementById("plan-" + k).value.trim().replace(",", "."); if (v) q.set(k, v); }
    if (document.getElementById("plan-ways").checked) q.set("directions", "1");
    if (sheet) q.set("sheet", "1");
    const address = `${ctx.base}/plan?${q}`;
    if (sheet) location.href = address; else open(address, "_blank", "noopener");
  };
  const value = (k) => document.getElementById("plan-" + k)?.value.trim().replace(",", ".") || "";
  const planned = () => {
    const of = modes.value.split(",").map((m) => m.trim()).filter(Boolean);
    return of.length < 2 ? "" : ["plan --format html", ctx.view.logs.length ? "--room ." : "", ...["runs", "smallest", "scatter"].filter(value).map((k) => `--${k} ${value(k)}`), document.getElementById("plan-ways")?.checked ? "--directions 1" : "", ...of.map(word), "> plan.html"].filter(Boolean).join(" ");
  };
  const line = asCommand(ctx, planned, "plan-command", true);
  const left = h("div", { id: "plan-left" });
  const el = part("plan", "Plan", "how many runs, in which order", left,
    h("div", { class: "fields" },
      h("div", { class: "field" }, h("label", { for: "plan-modes" }, "Modes, with commas between"), h("span", { class: "with" }, modes)),
      number("plan-runs", "Runs of each mode", "", { placeholder: "4" }), number("plan-smallest", "Smallest difference that matters", "s"), number("plan-scatter", "Scatter of repeated runs", "s", { placeholder: "about 1.2 % of the time" }),
      h("div", { class: "field" }, h("input", { type: "checkbox", id: "plan-ways" }), " ", h("label", { for: "plan-ways" }, "all runs go one way"))),
    h("p", { class: "row" }, h("button", { type: "button", class: "main", id: "plan-card", onclick: go(false) }, "The card to print"), h("button", { type: "button", onclick: go(true) }, "The plan as a session sheet")), line);
  el.addEventListener("input", () => { for (const f of ctx.commands) f(); });
  return { el, nav: "Plan", front(f) {
    const notes = (f.answer?.notes || []).filter((t) => t.startsWith("Still to drive"));
    const driven = f.modes.map((m) => `${m.called} ${m.counted}`).join(", ");
    replace(left, f.modes.length ? h("p", {}, `Driven and counted: ${driven}.`) : null, notes.map((t) => h("p", {}, t)), f.answer && !notes.length ? h("p", { class: "soft" }, "No plan is open in the sheet: nothing is left to drive.") : null);
    if (!modes.value) modes.value = ctx.view.modes.join(", ");
    for (const f2 of ctx.commands) f2();
    el.querySelector(".says").textContent = f.modes.length ? plural(f.modes.reduce((n, m) => n + m.counted, 0), "run") + " driven" : "how many runs, in which order";
  } };
}
