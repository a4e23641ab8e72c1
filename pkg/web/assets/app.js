// The page: which view is shown, by the address after the #.
import { h, replace, say } from "./dom.js";
import { showSessions } from "./sessions.js";
import { showSession, leaveSession } from "./session.js";

const main = document.getElementById("main");

async function route() {
  leaveSession();
  const m = location.hash.match(/^#\/s\/([\w-]+)(\?|$)/);
  try {
    if (m) await showSession(main, m[1]);
    else await showSessions(main);
  } catch (e) {
    document.title = "fromrest";
    replace(main, h("div", { class: "page" }, h("header", { class: "head" }, h("h1", {}, "Not here")), h("div", { class: "text" }, h("p", {}, e.message), h("p", {}, h("a", { href: "#/" }, "All sessions")))));
    say(e.message, true);
  }
}

addEventListener("hashchange", () => {
  if (/^#(\/|$)/.test(location.hash) || location.hash === "") route();
});
route();
