// A field whose words are kept in the browser until the server has them, and which
// overwrites nothing that another page wrote meanwhile: then both texts are shown.
import { h, replace, say } from "./dom.js";
import { keep, kept, forget } from "./typed.js";

/** held makes an input such a field. name is its own among those of the session, value what
 *  the server has, post(value, was) gives it an edit and answers with the session, done(value)
 *  is what is said of it then. */
export function held(ctx, name, input, value, post, done) {
  const note = h("div", { class: "kept", hidden: true, role: "status" });
  // seen is what its user saw last of the server's, sent what went last, refused what the
  // server will not have.
  let seen = value, sent = null, refused = null;
  const own = () => kept(ctx.id, name);
  const tell = (...children) => { replace(note, ...children); note.hidden = false; };
  const told = () => ctx.each((p) => p.typed?.());
  const drop = () => { forget(ctx.id, name); note.hidden = true; told(); };
  const hold = () => { refused = null; keep(ctx.id, name, input.value, own()?.was ?? seen); };

  /** take shows what the server has, unless something else was typed. */
  function take(v) {
    value = v;
    const mine = own(), idle = document.activeElement !== input;
    if (mine && mine.value !== v) { if (idle) input.value = mine.value; return; }
    if (mine) forget(ctx.id, name);
    if (idle) input.value = v;
    if (idle || input.value === sent) seen = v;
    note.hidden = true;
  }

  /** send gives what was typed to the server. What it does not acknowledge stays here. */
  async function send() {
    const mine = own();
    if (!mine || mine.value.trim() === value) return drop();
    if (ctx.sending.has(name)) return; // also by the field that this one took the place of
    ctx.sending.add(name);
    try {
      const v = await post(mine.value.trim(), mine.was);
      if (own()?.value === mine.value) forget(ctx.id, name);
      seen = value = mine.value.trim();
      sent = mine.value;
      note.hidden = true;
      ctx.take(v);
      if (done) say(done(value));
    } catch (e) {
      ctx.held.get(name)?.failed(mine, e);
    }
    ctx.sending.delete(name);
    told();
    if (own() && own().value !== mine.value) ctx.held.get(name)?.again(); // typed meanwhile
  }

  function failed(mine, e) {
    if (e.status === 409) return e.now !== undefined ? conflict(mine, e.now) : ctx.refresh();
    tell(e.status ? e.message : "Not with the server yet; kept here, and sent when it is back.");
    if (e.status) { refused = mine.value; say(e.message, true); }
  }

  /** conflict shows both texts where another page changed the field meanwhile. */
  function conflict(mine, now) {
    const choose = (text) => { value = seen = now; input.value = text; };
    const said = (t) => (t ? `“${t}”` : "nothing");
    tell(h("span", {}, `Changed meanwhile to ${said(now)}; yours is ${said(mine.value.trim())}. `),
      h("button", { type: "button", class: "link", id: "theirs-" + input.id.replace(/^(head|form)-/, ""), onclick: () => { choose(now); drop(); ctx.refresh(); } }, "keep theirs"), " ",
      h("button", { type: "button", class: "link", id: "mine-" + input.id.replace(/^(head|form)-/, ""), onclick: () => { keep(ctx.id, name, mine.value, now); choose(mine.value); send(); } }, "take mine"));
    value = now;
  }

  /** again sends what is not with the server, unless its user is at it. */
  const again = () => (own() && own().value !== refused && document.activeElement !== input && !note.querySelector("button") ? send() : null);

  input.addEventListener("input", () => { hold(); told(); });
  input.addEventListener("change", () => { hold(); send(); });
  input.addEventListener("keydown", (e) => { if (e.key === "Escape") { input.value = seen = value; drop(); } });
  const f = { input, note, take, again, failed };
  ctx.held.set(name, f);
  if (own() && own().value !== value) input.value = own().value;
  return f;
}

/** resend gives the server, one after another, what it has not got. */
export async function resend(ctx) {
  if (ctx.resending) return;
  ctx.resending = true;
  for (const f of [...ctx.held.values()]) if (f.input.isConnected) await f.again();
  ctx.resending = false;
}
