import { h } from "./dom.js";
export function compare() { return { el: h("section", { id: "compare" }, h("h2", { tabindex: "-1" }, h("span", { class: "no" }, "5"), "Comparison")), nav: "Comparison" }; }
