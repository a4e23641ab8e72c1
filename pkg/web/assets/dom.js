// Building blocks of the page. Text from logs and sheets only ever becomes text
// nodes and attributes, never markup.

/** marked shows characters that are not seen, or that turn the order of others, as marks. */
export const marked = (t) => String(t).replace(/[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u00ad\u061c\u180e\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]/g,
  (c) => `[U+${c.codePointAt(0).toString(16).toUpperCase().padStart(4, "0")}]`);

/** h makes an element: h("button", {class: "quiet", onclick: f}, "Undo"). */
export function h(tag, props, ...children) {
  const el = document.createElement(tag);
  set(el, props);
  el.append(...given(children));
  return el;
}

const given = (children) => children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false).map((c) => c instanceof Node ? c : marked(c));

/** s is h for SVG. */
export function s(tag, props, ...children) {
  const el = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [k, v] of Object.entries(props || {})) if (v !== null && v !== undefined) el.setAttribute(k, shown.has(k) ? marked(v) : v);
  el.append(...given(children));
  return el;
}

const shown = new Set(["title", "aria-label", "data-label", "placeholder"]);

function set(el, props) {
  for (const [k, v] of Object.entries(props || {})) {
    if (v === null || v === undefined || v === false) continue;
    if (k.startsWith("on")) el.addEventListener(k.slice(2), v);
    else if (k === "value" || k === "checked" || k === "disabled" || k === "hidden" || k === "multiple" || k === "open") el[k] = v;
    else el.setAttribute(k, v === true ? "" : shown.has(k) ? marked(v) : v);
  }
}

/** part is a folded part of the sheet with its heading, and in small what is in it. */
export function part(id, title, says, ...children) {
  return h("details", { id, class: "part" }, h("summary", {}, h("h2", { id: id + "-h" }, title), h("small", { class: "says" }, says)), ...children);
}

/** leadTo opens the parts that an element lies in and brings it into view. */
export function leadTo(id) {
  const el = document.getElementById(id);
  if (!el) return;
  for (let p = el; p; p = p.parentElement) if (p.tagName === "DETAILS") p.open = true;
  el.scrollIntoView({ block: "start" });
  const to = el.matches("input, button, a, textarea") ? el : el.querySelector("summary, input, button, a");
  to?.focus({ preventScroll: true });
}

/** wide is a box that scrolls what is wider than the page, also by the keyboard. */
export function wide(label, ...children) {
  return h("div", { class: "wide", tabindex: "0", role: "region", "aria-label": label }, ...children);
}

/** modeField is a field for a drive mode, with those known to choose from. */
export function modeField(props) {
  return h("input", { type: "text", list: "modes", maxlength: "60", autocomplete: "off", ...props });
}

/** save is a button that saves what is at an address. */
export function save(href, text, look = "button") {
  return h("a", { class: look, href, download: "" }, text);
}

/** press is a word that can be pressed. */
export function press(text, onclick, props) {
  return h("button", { type: "button", class: "link", onclick, ...props }, text);
}

/** num shows a number on its decimal point, its half-width in smaller figures;
 *  without a half-width in its column no room is kept for one. */
export function num(value, half, title) {
  if (!value) return h("span", { class: "num none" }, h("span", { class: "i" }, "–"));
  const dot = value.indexOf(".");
  const whole = dot < 0 ? value : value.slice(0, dot);
  const frac = dot < 0 ? "" : value.slice(dot);
  return h("span", { class: "num", title },
    h("span", { class: "i" }, whole.replace("-", "−")), h("span", { class: "f" }, frac),
    half === undefined ? null : h("span", { class: "u" }, half ? " ± " + half : ""));
}

/** say tells what happened, also to those who listen. */
export function say(text, bad) {
  const el = document.getElementById("say");
  el.textContent = marked(text);
  el.classList.toggle("bad", !!bad);
  el.classList.add("on");
  clearTimeout(say.timer);
  say.timer = setTimeout(() => el.classList.remove("on"), bad ? 12000 : 5000);
}

/** bytes prints a size. */
export function bytes(n) {
  if (n < 1000) return n + " B";
  if (n < 1e6) return (n / 1e3).toFixed(0) + " kB";
  return (n / 1e6).toFixed(n < 1e8 ? 1 : 0) + " MB";
}

/** download hands a blob to the user as a file. */
export function download(name, blob) {
  const url = URL.createObjectURL(blob);
  const a = h("a", { href: url, download: name });
  document.body.append(a);
  a.click();
  a.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10000);
}

/** replace puts new children in place of the old, keeping the focus by id. */
export function replace(el, ...children) {
  const id = el.contains(document.activeElement) ? document.activeElement.id : "";
  el.replaceChildren(...given(children));
  if (id) document.getElementById(id)?.focus({ preventScroll: true });
}

/** plural counts: plural(2, "run") is "2 runs". */
export function plural(n, word) {
  return n + " " + word + (n === 1 ? "" : "s");
}

/** slugOf names a run in the ids of elements. */
export const slugOf = (id) => "run-" + [...id].map((c) => /[a-z0-9]/i.test(c) ? c : "_" + c.codePointAt(0).toString(36)).join("");

/** sentence makes one of a clause; a run or a mode at its head stays as it is written. */
export const sentence = (t) => (t ? t + (/[.!?]$/.test(t) ? "" : ".") : "");

/** inSlices calls fn for each item, a few in each task, so that the page stays
 *  responsive; a later call with the same key takes over. */
const slices = new Map();
export function inSlices(key, items, fn, size = 40) {
  const turn = (slices.get(key) || 0) + 1;
  slices.set(key, turn);
  return new Promise((done) => {
    let i = 0;
    const step = () => {
      if (slices.get(key) !== turn) return done(false);
      const until = performance.now() + 30;
      for (let n = 0; i < items.length && n < size && performance.now() < until; n++) fn(items[i], i++);
      if (i >= items.length) return done(true);
      setTimeout(step, 0);
    };
    step();
  });
}
