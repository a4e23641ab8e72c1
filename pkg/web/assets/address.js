// What is shown, kept in the address so that it survives reload and edits and can be sent.

/** query is what the address says behind the session. */
export function query() {
  return new URLSearchParams(location.hash.split("?")[1] || "");
}

/** remember puts values into the address without a step in the history; "" takes one out. */
export function remember(values) {
  const q = query();
  for (const [k, v] of Object.entries(values)) if (v === "" || v === null || v === undefined) q.delete(k); else q.set(k, v);
  const text = q.toString();
  history.replaceState(null, "", location.hash.split("?")[0] + (text ? "?" + text : ""));
}
