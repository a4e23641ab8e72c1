// The blank sheet, with the sessions in its margin.
import { h, s, replace, plural, say, press } from "./dom.js";
import { get, post } from "./api.js";
import { collect, pickers, accept } from "./drop.js";
import { hand } from "./session.js";
import { mark } from "./answer.js";

const mostListed = 12;

export async function showSessions(main) {
  document.title = "fromrest: sessions";
  const list = await get("/api/sessions");
  const begin = async (files) => {
    if (!files.length) return;
    try {
      const { id } = await post("/api/sessions", { title: "" });
      hand(files);
      location.hash = "#/s/" + id;
    } catch (e) { say(e.message, true); }
  };
  const demo = async () => {
    try { location.hash = "#/s/" + (await post("/api/demonstration")).id; } catch (e) { say(e.message, true); }
  };
  replace(main, h("div", { class: "page" },
    h("header", { class: "head" }, h("p", { class: "folio" }, h("span", { class: "kind" }, "Test sheet")), h("h1", {}, "A blank test sheet"),
      h("p", { class: "facts soft" }, ["Vehicle", "Place", "Date"].map((t) => h("span", {}, t)))),
    h("div", { class: "text" }, h("div", { class: "blank" }, axes(), h("div", { class: "words" },
      h("p", { class: "lead" }, "Drop the logs of a session anywhere on this page."),
      h("p", {}, "NMEA, FIT, CSV, GPX or UBX; one, many, a folder or a zip. A session.toml dropped with them brings vehicle, conditions and modes; without one, modes are guessed from the names and you confirm. Everything stays on this machine."),
      h("p", { class: "row" }, pickers(begin), list.length ? null : press("Open the demonstration", demo, { id: "demo" }),
        press("Begin an empty session", async () => {
          try { location.hash = "#/s/" + (await post("/api/sessions", { title: "" })).id; } catch (e) { say(e.message, true); }
        }))))),
    h("aside", { class: "margin", "aria-label": "Sessions" }, h("h2", {}, "Sessions"), list.length ? sessions(list, main, demo) : h("p", { class: "soft" }, "The archive is empty."))));
  accept(async (transfer) => begin(await collect(transfer)));
}

function sessions(list, main, demo) {
  const box = h("ol", { class: "recent sessions" });
  const more = h("p", {});
  let all = false;
  const find = h("input", { type: "search", id: "find", autocomplete: "off", placeholder: "vehicle, mode, place", "aria-label": "Search the sessions", oninput: () => show() });
  const show = () => {
    const word = find.value.trim().toLowerCase();
    const hits = list.filter((it) => !word || [it.title, it.date, it.vehicle, it.place, ...it.modes].join(" ").toLowerCase().includes(word));
    const shown = all || word ? hits : hits.slice(0, mostListed);
    replace(box, shown.map((it) => item(it, main)));
    replace(more, hits.length > shown.length ? press(`${hits.length - shown.length} more`, () => { all = true; show(); }) : !hits.length ? h("span", { class: "soft" }, "None has that.") : null);
  };
  show();
  return [list.length > 3 ? h("p", {}, find) : null, box, more, h("p", { class: "line" }, "Newest first, by date of driving. ", press("Open the demonstration", demo, { id: "demo" }))];
}

function item(it, main) {
  const said = it.title && !it.untitled ? it.title : [it.date, it.vehicle].filter(Boolean).join(", ") || "Begun " + it.created;
  const line = (...t) => { const text = t.filter(Boolean).join("; "); return text ? h("small", {}, text) : null; };
  return h("li", {}, h("a", { href: "#/s/" + it.id }, said), line([it.date, it.vehicle].filter(Boolean).join(", ") !== said ? [it.date, it.vehicle].filter(Boolean).join(", ") : "", it.place),
    line(it.modes.join(", "), it.runs ? plural(it.runs, "run") : plural(it.logs, "log")), tiny(it), it.verdicts.length ? h("small", { class: "verdict" }, it.verdicts.join("; ")) : null,
    press("remove", async () => {
      if (!confirm(`Remove “${said}” from the archive, with its logs, sheets and results? This cannot be undone.`)) return;
      try {
        await post(`/api/sessions/${it.id}/remove`);
        say("Removed " + said);
        showSessions(main);
      } catch (e) { say(e.message, true); }
    }, { "aria-label": "Remove " + said, class: "link soft" }));
}

/** tiny is the runs of a session, a row a mode, on one scale; left out ones are crosses. */
function tiny(it) {
  const all = it.strips.flatMap((t) => t.runs.map((r) => r[0]));
  if (all.length < 2) return null;
  const W = 200, row = 9, H = row * it.strips.length + 13, lo = Math.min(...all), hi = Math.max(...all), X = (x) => (5 + (x - lo) / (hi - lo || 1) * (W - 10)).toFixed(1);
  const el = s("svg", { class: "tiny", width: W, height: H, viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": `Each run to ${it.at}: ${it.strips.map((t) => `${t.line.mode} ${plural(t.runs.length, "run")}`).join(", ")}` });
  it.strips.forEach((t, i) => {
    const y = row * i + 5;
    el.append(s("path", { class: "grid", d: `M0 ${y}H${W}` }));
    for (const [x, counted] of t.runs) el.append(mark(+X(x), y, 2.4, !!counted, 0, t.line));
  });
  el.append(s("text", { class: "ax", x: 0, y: H }, `${lo.toFixed(1)} s`), s("text", { class: "ax", x: W, y: H, "text-anchor": "end" }, `${hi.toFixed(1)} s to ${it.at}`));
  return el;
}

/** axes are those of a figure without a curve. */
function axes() {
  const el = s("svg", { viewBox: "0 0 968 640", "aria-hidden": "true" });
  for (let i = 0; i <= 8; i++) {
    const y = 608 - i * 72;
    el.append(s("path", { class: i ? "grid" : "axis", d: `M34 ${y}H906` }), s("text", { class: "ax", x: 28, y: y + 4, "text-anchor": "end" }, String(i * 10)));
  }
  for (let i = 0; i <= 10; i++) el.append(s("path", { class: "axis", d: `M${73 + i * 78.5} 608v5` }), s("text", { class: "ax", x: 73 + i * 78.5, y: 626, "text-anchor": "middle" }, String(i * 2)));
  el.append(s("path", { class: "grid", d: "M73 608V10" }), s("text", { class: "ax", x: 79, y: 20 }, "speed"), s("text", { class: "ax", x: 906, y: 602, "text-anchor": "end" }, "time from rollout, s"));
  return el;
}
