// The head of the sheet: what the logs cannot say.
import { h } from "./dom.js";

const fields = [
  ["title", "Session"], ["date", "Date"], ["place", "Place"], ["vehicle", "Vehicle"], ["surface", "Surface"], ["notes", "Remarks"],
];

export function head(ctx) {
  const inputs = new Map();
  const el = h("header", { class: "head", id: "head" }, h("h1", {}, "Test sheet"),
    h("div", { class: "blanks" }, fields.map(([key, name]) => {
      const input = h("input", { id: "head-" + key, type: key === "date" ? "date" : "text", autocomplete: "off", maxlength: "1000",
        onchange: () => ctx.edit({ op: "head", key, value: input.value.trim() }).then((ok) => { if (!ok) input.value = ctx.view.head[key]; }) });
      inputs.set(key, input);
      return h("div", { class: "blank " + key }, h("label", { for: input.id }, name), input);
    })),
    h("p", { class: "note warn", id: "wrong", hidden: true }), h("p", { class: "note", id: "older", hidden: true }));
  return {
    el,
    update(v) {
      for (const [key, input] of inputs) if (document.activeElement !== input) input.value = v.head[key];
      for (const [id, text, lead] of [["wrong", v.wrong, "The sheet does not apply as it stands: "], ["older", v.older, ""]]) {
        const p = el.querySelector("#" + id);
        p.hidden = !text;
        p.textContent = text ? lead + text : "";
      }
    },
  };
}
