// The way of files to the server: a few at a time, begun again where the connection is
// lost, and going on while another session is looked at.
import { say } from "./dom.js";
import { send } from "./api.js";

const tries = [1000, 2000, 4000, 8000, 15000]; // ms before the next one, after which the user is asked

class Uploads {
  constructor(session, limit) {
    Object.assign(this, { session, limit, onchange: () => {}, ondone: () => {}, items: [], active: 0, count: 0 });
  }

  add(files) {
    for (const f of files) {
      const it = { key: "u" + this.count++, name: f.file.name, mode: f.mode, file: f.file, total: f.file.size, done: 0, state: "waiting", text: "", lost: 0 };
      if (f.file.size > this.limit) Object.assign(it, { state: "failed", text: `larger than the ${this.limit >> 20} MiB that are taken`, file: null });
      else if (f.file.size === 0) Object.assign(it, { state: "failed", text: "the file is empty", file: null });
      this.items.push(it);
    }
    this.onchange();
    this.next();
  }

  next() {
    while (this.active < 3) {
      const it = this.items.find((i) => i.state === "waiting" && !i.pause);
      if (!it) return;
      this.run(it);
    }
  }

  async run(it) {
    this.active++;
    Object.assign(it, { state: "sending", text: "", abort: new AbortController() });
    this.onchange();
    const q = new URLSearchParams({ name: it.name, mode: it.mode, key: it.key });
    try {
      const r = await send(`/api/sessions/${this.session}/logs?${q}`, it.file, it.abort.signal);
      it.state = r.inSession ? "known" : "stored";
      it.text = r.inSession ? "already in this session" : r.known ? "already in the archive" : "";
      it.file = null;
      if (r.inSession) say(it.name + " is already in this session");
      this.ondone(it, r);
    } catch (e) {
      this.broke(it, e);
    }
    this.active--;
    this.onchange();
    this.next();
  }

  /** broke: cancelled, refused with a reason, or to be tried again. */
  broke(it, e) {
    if (it.abort.signal.aborted) return Object.assign(it, { state: "cancelled", text: "cancelled" });
    const again = !e.status || e.status >= 500 && e.status !== 507;
    if (again && it.lost < tries.length) {
      Object.assign(it, { state: "waiting", pause: true, text: "the connection was lost; trying again" });
      setTimeout(() => { it.pause = false; this.next(); }, tries[it.lost++]);
      return it;
    }
    if (e.status === 422 || e.status === 413) it.file = null; // the same again would be refused again
    return Object.assign(it, { state: "failed", text: it.text || e.message });
  }

  again(it) {
    if (it.file) Object.assign(it, { state: "waiting", lost: 0, pause: false, text: "" });
    this.onchange();
    this.next();
  }

  /** told takes the server's word on how many bytes have arrived. */
  told(e) {
    const it = this.items.find((i) => i.key === e.key);
    if (!it || it.state !== "sending") return;
    it.done = e.done || it.done;
    if (e.text && e.state === "failed") it.text = e.text;
    this.onchange();
  }

  cancel(it) {
    if (it.state === "waiting") Object.assign(it, { state: "cancelled", text: "cancelled" });
    else it.abort?.abort();
    this.onchange();
  }

  get busy() { return this.items.some((i) => i.state === "waiting" || i.state === "sending"); }

  clear() {
    this.items = this.items.filter((i) => i.state === "waiting" || i.state === "sending");
    this.onchange();
  }
}

const all = new Map();
/** uploadsOf are the uploads of a session, which go on whatever is shown. */
export function uploadsOf(session, limit) {
  if (!all.has(session)) all.set(session, new Uploads(session, limit));
  return all.get(session);
}

const reasons = new Set();
/** staysFor has the browser ask before it leaves while a reason to stay holds. */
export const staysFor = (reason) => { reasons.add(reason); return () => reasons.delete(reason); };
addEventListener("beforeunload", (e) => {
  if ([...all.values()].some((u) => u.busy || u.items.some((i) => i.state === "failed" && i.file)) || [...reasons].some((f) => f())) e.preventDefault();
});
