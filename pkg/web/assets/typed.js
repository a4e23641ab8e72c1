// What was typed is kept in the browser until the server has it, so that neither a lost
// connection nor a closed window loses a word.

const key = (session, field) => `typed/${session}/${field}`;

/** keep notes what stands in a field and what it held when its user began. */
export function keep(session, field, value, was) {
  try { localStorage.setItem(key(session, field), JSON.stringify({ value, was })); } catch { /* a full or closed store: the field itself still has it */ }
}

/** kept is {value, was} of a field that the server has not got, null for none. */
export function kept(session, field) {
  try { return JSON.parse(localStorage.getItem(key(session, field))); } catch { return null; }
}

export function forget(session, field) {
  try { localStorage.removeItem(key(session, field)); } catch { /* as above */ }
}

/** unsent lists the fields of a session that the server has not got. */
export function unsent(session) {
  try { return Object.keys(localStorage).filter((k) => k.startsWith(key(session, ""))).map((k) => k.slice(key(session, "").length)); } catch { return []; }
}
