// Talking to the server.

async function answer(r) {
  const kind = r.headers.get("Content-Type") || "";
  if (r.ok) return kind.startsWith("application/json") ? r.json() : r.text();
  let text = r.statusText;
  if (kind.startsWith("application/json")) text = (await r.json()).error;
  else text = (await r.text()).trim() || text;
  const e = new Error(text);
  e.status = r.status;
  throw e;
}

export async function get(path) {
  return answer(await fetch(path));
}

async function put(path, kind, body, signal) {
  return answer(await fetch(path, { method: "POST", headers: { "X-Fromrest": "1", "Content-Type": kind }, body, signal }));
}

export const post = (path, body) => put(path, "application/json", JSON.stringify(body || {}));

/** send uploads a file's bytes. */
export const send = (path, file, signal) => put(path, "application/octet-stream", file, signal);
