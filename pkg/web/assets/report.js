// The method in words, and the report.
import { h, replace, say, part, save } from "./dom.js";

export function report(ctx) {
  const paragraph = h("p", { class: "paragraph" });
  const method = h("div", { class: "method" });
  const el = part("report", "Method, report, print", "",
    paragraph, h("details", {}, h("summary", {}, "How the times come about"), method),
    h("p", { class: "row" },
      h("button", { type: "button", onclick: async () => {
        try { await navigator.clipboard.writeText(paragraph.textContent); say("The paragraph is on the clipboard."); } catch { say("The browser does not allow copying here.", true); }
      } }, "Copy the paragraph"),
      save(`${ctx.base}/export/methods.txt`, "Paragraph as text"),
      save(`${ctx.base}/export/report.html`, "Save the report", "button main"),
      h("a", { class: "button", href: `${ctx.base}/export/report.html?show=1`, target: "_blank", rel: "noopener" }, "Look at the report"),
      h("button", { type: "button", onclick: () => print() }, "Print this sheet")));
  ctx.method = (r) => {
    paragraph.textContent = r.methods || "The methods paragraph is written once there are runs.";
    replace(method, (r.method || []).map((t) => h("p", {}, t)));
  };
  return { el, nav: "Report" };
}
