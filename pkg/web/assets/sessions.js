// The list of sessions, and the beginning of a new one.
import { h, replace, bytes, plural, say, wide } from "./dom.js";
import { get, post } from "./api.js";
import { collect, pickers, accept } from "./drop.js";
import { hand } from "./session.js";

export async function showSessions(main) {
  document.title = "fromrest: sessions";
  const list = await get("/api/sessions");
  const begin = async (files) => {
    if (!files.length) return;
    const { id } = await post("/api/sessions", { title: "Session of " + new Date().toISOString().slice(0, 10) });
    hand(files);
    location.hash = "#/s/" + id;
  };
  replace(main, h("section", { class: "sheet" },
    h("h1", {}, "Test sessions"),
    h("div", { class: "drop" },
      h("p", { class: "lead" }, "Drop the logs of a session anywhere on this page."),
      h("p", { class: "soft" }, "NMEA, FIT, CSV and GPX, many at once or whole folders. They stay on this machine."),
      pickers(begin),
      h("button", { type: "button", class: "quiet", onclick: async () => {
        const { id } = await post("/api/sessions", { title: "" });
        location.hash = "#/s/" + id;
      } }, "Begin an empty session")),
    list.length ? wide("Sessions in the archive", table(list, main)) : h("p", { class: "soft" }, "The archive is empty."),
  ));
  accept(async (transfer) => begin(await collect(transfer)));
}

function table(list, main) {
  return h("table", { class: "ruled sessions" },
    h("thead", {}, h("tr", {}, ["Session", "Begun (UTC)", "Logs", "Modes", ""].map((t) => t ? h("th", { scope: "col" }, t) : h("td", {})))),
    h("tbody", {}, list.map((it) => h("tr", {},
      h("th", { scope: "row" }, h("a", { href: "#/s/" + it.id }, it.title)),
      h("td", {}, it.created),
      h("td", {}, plural(it.logs, "log") + ", " + bytes(it.bytes)),
      h("td", {}, it.modes.join(", ")),
      h("td", { class: "act" }, h("button", { type: "button", class: "quiet", "aria-label": "Remove " + it.title, onclick: async () => {
        if (!confirm(`Remove “${it.title}” from the archive, with its logs, sheets and results? This cannot be undone.`)) return;
        try {
          await post(`/api/sessions/${it.id}/remove`);
          say("Removed " + it.title);
          showSessions(main);
        } catch (e) { say(e.message, true); }
      } }, "Remove"))))));
}
