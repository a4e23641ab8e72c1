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

export async function post(path, body) {
  return answer(await fetch(path, {
    method: "POST", headers: { "X-Fromrest": "1", "Content-Type": "application/json" }, body: JSON.stringify(body || {}),
  }));
}

/** send uploads a file's bytes. */
export async function send(path, file, signal) {
  return answer(await fetch(path, {
    method: "POST", headers: { "X-Fromrest": "1", "Content-Type": "application/octet-stream" }, body: file, signal,
  }));
}
