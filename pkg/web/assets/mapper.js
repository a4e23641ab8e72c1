// What the columns of a table are: its first rows, and over each column what it was taken for.
import { h, replace, say, wide } from "./dom.js";
import { get } from "./api.js";

const words = { "": "not used", ax: "acceleration, x", ay: "acceleration, y", az: "acceleration, z", along: "acceleration ahead", lat: "latitude", lon: "longitude",
  north: "speed north", east: "speed east", up: "speed up", down: "speed down", "speed-sd": "speed's deviation", "position-sd": "position's deviation" };

export function mapper(ctx, l) {
  const id = "columns-" + l.sha.slice(0, 12);
  const body = h("div", {});
  const box = h("details", { id, class: "columns", ontoggle: () => { if (box.open && !body.children.length) load(); } }, h("summary", {}, l.state === "failed" ? "Say what its columns are" : "What its columns are taken for"), body);

  async function load() {
    let t;
    try { t = await get(`${ctx.base}/logs/${l.sha}/columns`); } catch (e) { return replace(body, h("p", { class: "soft" }, e.message)); }
    const roles = new Map(t.roles.map((r) => [r.name, r.units]));
    const picks = t.columns.map((c, i) => {
      const unit = h("select", { id: `${id}-unit-${i}`, "aria-label": "unit of " + c.column });
      const units = (chosen) => {
        const of = roles.get(role.value) || [];
        unit.hidden = !of.length;
        replace(unit, h("option", { value: "" }, "unit?"), of.map((u) => h("option", { value: u }, u)));
        unit.value = of.includes(chosen) ? chosen : "";
      };
      const role = h("select", { id: `${id}-role-${i}`, "aria-label": "what " + c.column + " is", onchange: () => units("") }, ["", ...roles.keys()].map((r) => h("option", { value: r }, words[r] ?? r)));
      role.value = c.role;
      units(c.unit);
      return { column: c.column, role, unit };
    });
    const said = () => picks.filter((p) => p.role.value && p.role.value !== "ignore").map((p) => ({ column: p.column, role: p.role.value, unit: p.unit.value }));
    replace(body, t.asks ? h("p", { class: "note" }, t.asks) : null,
      wide("First rows of " + l.name, h("table", { class: "ruled sight" },
        h("thead", {}, h("tr", {}, picks.map((p) => h("th", { scope: "col" }, p.column))), h("tr", {}, picks.map((p) => h("td", {}, p.role, " ", p.unit)))),
        h("tbody", {}, t.rows.map((r) => h("tr", {}, picks.map((_, i) => h("td", {}, r[i] ?? ""))))))),
      h("p", { class: "row" }, h("button", { type: "button", class: "main", id: id + "-take", onclick: () => {
        if (!said().length) return say("Say of the time and of a speed which columns they are.", true);
        document.activeElement?.blur();
        ctx.edit({ op: "columns", columns: said() }, "The columns are in the sheet; the logs are read again.");
      } }, "Read it so"), h("span", { class: "soft" }, "Kept in the sheet, for all tables of the session.")));
  }
  return box;
}
