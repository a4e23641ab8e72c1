// Part 6: the method in words, and the report.
import { h, replace, say } from "./dom.js";

export function report(ctx) {
  const method = h("div", { class: "method" });
  const el = h("section", { id: "report", "aria-labelledby": "report-h" },
    h("h2", { id: "report-h", tabindex: "-1" }, h("span", { class: "no" }, "6"), "Method and report"),
    method,
    h("p", { class: "row" },
      h("button", { type: "button", onclick: async () => {
        try { await navigator.clipboard.writeText(method.innerText); say("The method is on the clipboard."); } catch { say("The browser does not allow copying here.", true); }
      } }, "Copy the method"),
      h("a", { class: "button", href: `${ctx.base}/export/methods.txt`, download: "" }, "Method as text"),
      h("a", { class: "button main", href: `${ctx.base}/export/report.html`, download: "" }, "Save the report"),
      h("a", { class: "button", href: `${ctx.base}/export/report.html?show=1`, target: "_blank", rel: "noopener" }, "Look at the report"),
      h("button", { type: "button", onclick: () => print() }, "Print this sheet")));
  ctx.method = (paragraphs) => replace(method, (paragraphs || []).map((t) => h("p", {}, t)));
  return { el, nav: "Report" };
}
