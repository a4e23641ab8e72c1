// Why one mode is quicker, and which wheels push.
import { asCommand } from "./command.js";
import { h, replace, part, save } from "./dom.js";

const wheels = [["fl", "front left"], ["fr", "front right"], ["rl", "rear left"], ["rr", "rear right"]];

export function why(ctx) {
  const mode = h("select", { id: "why-mode", name: "mode" });
  const boxes = (name, legend) => h("fieldset", {}, h("legend", {}, legend), wheels.map(([k, text]) =>
    h("label", { for: `why-${name}-${k}` }, h("input", { type: "checkbox", id: `why-${name}-${k}`, name, value: k }), " " + text)));
  const el = part("why", "Why", "what limits each mode, and which wheels push",
    h("p", {}, "What limits each mode, the force in each gear beside the measured, shifts, grip, road, wind and air: from the logs and the vehicle in the session sheet. Data that the sheet lacks are named there with what they would unlock."),
    h("p", { class: "row" },
      h("a", { class: "button main", href: `${ctx.base}/export/explain.html?show=1`, target: "_blank", rel: "noopener" }, "Look at why the modes differ"),
      save(`${ctx.base}/export/explain.html`, "Save it"),
      save(`${ctx.base}/export/explain.json`, "As JSON"),
      save(`${ctx.base}/export/explain.txt`, "As text")),
    h("form", { method: "get", action: `${ctx.base}/wheels`, target: "_blank", id: "wheels" },
      h("h3", {}, "Which wheels push"),
      h("p", { class: "row" }, h("label", { for: "why-mode" }, "Mode"), mode),
      boxes("nogrip", "Without grip"), boxes("air", "In the air"),
      h("p", { class: "row" }, h("button", { type: "submit" }, "Show the wheels")),
      h("p", { class: "soft" }, "A calculation only: wheels in the air or without grip are never staged on a road; locked drivelines and low range are not for dry pavement.")),
    asCommand(ctx, () => "explain --full"));
  return {
    el, nav: "Why",
    update(v) {
      const was = mode.value;
      replace(mode, h("option", { value: "" }, "the first of the sheet"), v.modes.map((m) => h("option", { value: m }, m)));
      mode.value = v.modes.includes(was) ? was : "";
    },
  };
}
