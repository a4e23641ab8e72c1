// Talking to the server.

// The name of this page: its edits are its own to undo. It opens nothing.
let me = sessionStorage.getItem("page");
if (!me) sessionStorage.setItem("page", me = "p" + crypto.getRandomValues(new Uint32Array(2)).join(""));

async function answer(r) {
  const kind = r.headers.get("Content-Type") || "";
  if (r.ok) return kind.startsWith("application/json") ? r.json() : r.text();
  let body = { error: r.statusText };
  if (kind.startsWith("application/json")) body = await r.json();
  else body.error = (await r.text()).trim() || body.error;
  const e = new Error(body.error);
  e.status = r.status;
  e.now = body.now;
  throw e;
}

/** reached gives an error of a connection its words; such an error has no status. */
async function reached(path, init) {
  let r;
  try { r = await fetch(path, init); } catch (e) {
    if (e.name === "AbortError") throw e;
    throw new Error("The server cannot be reached.");
  }
  return answer(r);
}

export const get = (path) => reached(path, { headers: { "X-Fromrest": me } });

const put = (path, kind, body, signal) => reached(path, { method: "POST", headers: { "X-Fromrest": me, "Content-Type": kind }, body, signal });

export const post = (path, body) => put(path, "application/json", JSON.stringify(body || {}));

/** send uploads a file's bytes. */
export const send = (path, file, signal) => put(path, "application/octet-stream", file, signal);
